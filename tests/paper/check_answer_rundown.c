/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What came of running a store down, on paper: an answer made up by hand, whose figures are told
 * from each other, against what stands in the note. Expected figures are worked
 * out from the units' definitions: 1 psi = 6894.757 Pa, 1 lbf = 4.448222 N, 1.185 kg of air are a
 * cubic metre ANR.
 */
#include "paper/answer_rundown.h"

#include "base/constants.h"
#include "rundown_maker.h"
#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  WIDTH = 79
};
enum {
  REGULATED = RUNDOWN_MAKER_REGULATED,
  BEST = RUNDOWN_MAKER_BEST,
  TWO = RUNDOWN_MAKER_TWO,
  THREE = RUNDOWN_MAKER_THREE,
  FOLLOWING = RUNDOWN_MAKER_FOLLOWING,
  RUNS = RUNDOWN_MAKER_RUNS
};
static const double ambient = RUNDOWN_MAKER_AMBIENT;

/* The note with its lines unwrapped and blanks squeezed, to be released with free. */
static char *squeezed(const char *text) {
  char *words = malloc(strlen(text) + 1), *to = words;
  for (const char *from = text; *from; from++) {
    char c = *from == '\n' ? ' ' : *from;
    if (c != ' ' || (to > words && to[-1] != ' '))
      *to++ = c;
  }
  *to = '\0';
  return words;
}

/* The note, to be released with free. */
static void note(char **text, struct rundown_maker *e, bool inch) {
  ck_assert_int_eq(lb_answer_rundown_text(text, rundown_maker_paper(e), inch, NULL), LB_OK);
}

/* Whether the note says this, wherever its lines break. */
static bool says(struct rundown_maker *e, bool inch, const char *words) {
  char *text = NULL;
  note(&text, e, inch);
  char *line = squeezed(text);
  bool found = strstr(line, words) != NULL;
  free(text);
  free(line);
  return found;
}

#define ck_says(e, words)                                                                          \
  ck_assert_msg(says(e, false, words), "the note does not say: %s", (const char *)(words))
#define ck_never_says(e, words)                                                                    \
  ck_assert_msg(!says(e, false, words), "the note says: %s", (const char *)(words))

/* The table of a title, squeezed: to the empty line behind it. */
static bool table_says(struct rundown_maker *e, const char *title, const char *words) {
  char *text = NULL;
  note(&text, e, false);
  char *at = strstr(text, title);
  ck_assert_msg(at != NULL, "no table '%s'", title);
  char *end = strstr(at, "\n\n");
  if (end)
    *end = '\0';
  char *line = squeezed(at);
  bool found = strstr(line, words) != NULL;
  free(text);
  free(line);
  return found;
}

#define ck_table(e, title, words)                                                                  \
  ck_assert_msg(table_says(e, title, words), "'%s' does not say: %s", title, words)

START_TEST(tables_have_every_figure) {
  struct rundown_maker e = rundown_maker_new();
  ck_table(&e, "The plans", "Plan set to cap end rod end bar gauge deg deg");
  ck_table(&e, "The plans", "regulated as set 3.60 41.0 51.5");
  ck_table(&e, "The plans", "regulated best 4.20 42.0 52.5");
  ck_table(&e, "The plans", "following - 45.0 55.5");
  ck_table(&e, "How far it goes", "rev rev m m min");
  ck_table(&e, "How far it goes", "regulated as set 1001 2001 501 1001 11.0");
  ck_table(&e, "How far it goes", "3 steps 1004 2004 504 1004 14.0");
  ck_table(&e, "Work after friction", "kJ kJ kJ L ANR kg");
  ck_table(&e, "Work after friction", "regulated as set 91.0 79.0 12.0 1100 1.30"); /* 91 - 79 */
  ck_table(&e, "Work after friction", "following 95.0 75.0 20.0 1500 1.78");
  ck_table(&e, "How much stays", "L ANR kg bar gauge bar gauge");
  ck_table(&e, "How much stays", "regulated as set 790 0.936 3.00 3.50 the load");
  ck_table(&e, "How much stays", "regulated best 680 0.806 4.00 4.50 lowest pressure");
  ck_table(&e, "Greatest force", "N degC degC degC");
  ck_table(&e, "Greatest force", "regulated as set 2001 -79 -29 -49");
  ck_table(&e, "Greatest force", "following 2005 -75 -25 -");
  ck_table(&e, "The fixed steps", "2 steps 100.00 50.00 20.0 deg 25.0 deg 50.00 33.00 30.0 deg");
  ck_table(&e, "The fixed steps", "3 steps 100.00 50.00 20.0 deg");
  rundown_maker_free(&e);
}
END_TEST

/* Columns that do not apply are not there. */
START_TEST(columns_that_apply) {
  struct rundown_maker e = rundown_maker_new();
  e.machine.load.coasting = LB_COASTING_NONE;
  ck_table(&e, "How far it goes", "powered powered time rev m min");
  e.rundown->demand.distance = 0;
  ck_table(&e, "How far it goes", "powered time rev min");
  e.rundown->speed = 0;
  ck_table(&e, "How far it goes", "Plan powered rev regulated as set 1001 regulated");
  e.machine.store.heat = LB_STORE_ISOTHERMAL;
  ck_table(&e, "How much stays", "at the end stopped by");
  ck_assert(!table_says(&e, "Work after", "leaked"));
  e.machine.store.leakage = 1e-12;
  for (int k = 0; k < RUNS; k++)
    e.rundown->run[k].air_leaked = 0.1185;
  ck_table(&e, "Work after", "air used leaked kJ kJ kJ L ANR L ANR");
  ck_table(&e, "Work after", "91.0 79.0 12.0 1100 100");
  e.machine.works[LB_ROD_END] = false;
  ck_table(&e, "The plans", "set to cap end bar gauge deg");
  ck_table(&e, "The fixed steps", "2 steps 100.00 50.00 20.0 deg 50.00");
  for (int k = 0; k < RUNS; k++)
    e.rundown->run[k].ran = k > BEST;
  ck_table(&e, "The plans", "Plan cap end deg 2 steps 43.0");
  ck_table(&e, "Greatest force", "on the pin cylinder tank N degC degC 2 steps");
  rundown_maker_free(&e);
}
END_TEST

/* A long way is in kilometres; few revolutions have a tenth. */
START_TEST(units_by_size) {
  struct rundown_maker e = rundown_maker_new();
  e.rundown->run[FOLLOWING].distance = 12345;
  ck_table(&e, "How far it goes", "rev rev km km min");
  ck_table(&e, "How far it goes", "regulated as set 1001 2001 0.50 1.0 11.0");
  ck_table(&e, "How far it goes", "following 1005 2005 0.51 12.3 15.0");
  for (int k = 0; k < RUNS; k++)
    e.rundown->run[k].powered_revolutions = 3.25 + k;
  ck_table(&e, "How far it goes", "regulated as set 4.2 2001");
  rundown_maker_free(&e);
}
END_TEST

START_TEST(not_run) {
  struct rundown_maker e = rundown_maker_new();
  ck_says(&e,
          "Not run, unregulated: the store is above 10.00 bar gauge (145.0 psig); regulate it.");
  ck_assert(says(&e, true, "the store is above 145.0 psig (10.00 bar gauge); regulate it."));
  for (int k = TWO; k <= FOLLOWING; k++) {
    e.rundown->run[k].ran = false;
    strcpy(e.rundown->run[k].why, k == FOLLOWING ? "another reason" : e.rundown->run[0].why);
  }
  ck_says(&e, "Not run, unregulated, 2 steps, 3 steps: the store is above");
  ck_says(&e, "regulate it. Not run, following: another reason.");
  ck_never_says(&e, "The fixed steps");
  rundown_maker_free(&e);
}
END_TEST

/* Shares of the start's worth in the rows of the books. Each column sums up to all of it. */
START_TEST(books) {
  struct rundown_maker e = rundown_maker_new();
  const char *title = "Where the worth of the air went (200 kJ in the store at the start)";
  char *text = NULL;
  note(&text, &e, false);
  char *at = strstr(text, title);
  double sum[RUNS - 1] = {0};
  ck_table(&e, title, "% of it set best 2 st 3 st follow");
  ck_table(&e, title, "still in the tank 10.0 10.0 10.0 10.0 10.0");
  ck_table(&e, title, "crank 40.5 41.0 41.5 42.0 42.5");
  ck_table(&e, title, "regulator, throttled 12.0 12.0 0.0 0.0 0.0");
  ck_table(&e, title, "pipe, by its heat -1.0 -1.0 0.0");
  ck_assert(!table_says(&e, title, "leak of the store"));
  ck_assert(!table_says(&e, title, "pushed back"));
  int rows = 0;
  for (at = strchr(strchr(at, '\n') + 1, '\n'); at[1] != '\n'; at = strchr(at + 1, '\n'), rows++) {
    char *cell = at + 2 + strcspn(at + 2, "-0123456789");
    for (int k = 0; k < RUNS - 1; k++)
      sum[k] += strtod(cell, &cell);
  }
  ck_assert_int_eq(rows, 9);
  for (int k = 0; k < RUNS - 1; k++)
    ck_close(sum[k], 100, 1e-9);
  free(text);
  rundown_maker_free(&e);
}
END_TEST

START_TEST(winner_and_margin) {
  static const struct {
    size_t winner, rival;
    const char *says;
  } cases[] = {
      {FOLLOWING, BEST,
       "Let the cut-off follow the pressure: 31 % further than the best regulated "
       "supply, and 0.2 % further than the supply regulated as set."},
      {BEST, FOLLOWING,
       "Regulate the supply to 4.20 bar gauge (5.20 bar absolute, 60.9 psig), with "
       "a cut-off that suits it: 31 % further than a cut-off that follows the "
       "pressure."},
      {THREE, REGULATED, "Cut three fixed steps: 31 % further than the supply regulated as set."},
      {REGULATED, TWO,
       "Keep the regulator as it is set, and the fixed timing: 31 % further than "
       "two fixed steps."},
      {0, BEST, "Leave the regulator out and keep the fixed timing: 31 % further than the best"},
      {BEST, 0, "31 % further than one fixed timing at the store's own pressure."}};
  struct rundown_maker e = rundown_maker_new();
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    e.rundown->verdict.winner = cases[i].winner;
    e.rundown->verdict.rival = cases[i].rival;
    ck_says(&e, cases[i].says);
  }
  e.rundown->verdict.margin = 0.0423;
  ck_says(&e, ": 4.2 % further than");
  e.rundown->verdict.margin = 15.6;
  ck_says(&e, ": 16.6 times as far as ");
  e.rundown->verdict.margin = 0.0997;
  ck_says(&e, ": 10 % further than");
  e.rundown->verdict.margin = 1e-4;
  ck_says(&e, ": it goes as far as one fixed timing");
  e.rundown->verdict.margin = 0.312;
  e.rundown->demand.distance = 0;
  ck_says(&e, ": 31 % more revolutions than");
  e.machine.load.coasting = LB_COASTING_NONE;
  ck_says(&e, ": 31 % more powered revolutions than");
  e.rundown->verdict.compared = false;
  ck_says(&e, "None without a regulator did; the reasons stand below.");
  ck_never_says(&e, "turns it round");
  e.rundown->verdict.winner = FOLLOWING;
  ck_says(&e, "None with a regulator did; the reasons stand below.");
  rundown_maker_free(&e);
}
END_TEST

START_TEST(steps_and_flips) {
  struct rundown_maker e = rundown_maker_new();
  struct lb_verdict *v = &e.rundown->verdict;
  ck_says(&e, "Two fixed steps already bring 78 % of what following the pressure gains over the "
              "fixed timing, three 91 %.");
  ck_says(&e, "It would be level with a dead volume 2.4 times what it is. Nothing else turns it "
              "round, neither the load from 0.5 to 2 times what it is, nor the start pressure from "
              "20.0 to 300.0 bar gauge.");
  v->flip[LB_KNOB_LOAD] = (struct lb_flip){true, 1.5, 0.5, 2};
  v->flip[LB_KNOB_START_PRESSURE] = (struct lb_flip){true, ambient + 50e5, 0, 300e5};
  ck_says(&e,
          "level with a dead volume 2.4 times what it is, a load 1.5 times what it is or a start "
          "pressure of 50.00 bar gauge (51.00 bar absolute, 725.2 psig).");
  ck_never_says(&e, "turns it round");
  for (int i = 0; i < LB_KNOBS; i++)
    v->flip[i].found = false;
  ck_says(
      &e,
      "Nothing turns it round, neither the dead volume from 0.25 to 4 times what it is, nor the "
      "load from 0.5 to 2");
  memset(v->flip, 0, sizeof v->flip);
  ck_never_says(&e, "turns it round");
  v->step_share[2] = v->step_share[3] = (double)NAN;
  ck_never_says(&e, "already bring");
  rundown_maker_free(&e);
}
END_TEST

START_TEST(least_supply) {
  struct rundown_maker e = rundown_maker_new();
  ck_says(&e, "To start the load at standstill it takes 0.90 bar gauge (1.90 bar absolute, 13.1 "
              "psig) from its best position, 78 deg of the crank, and 2.00 bar gauge (3.00 bar "
              "absolute, 29.0 psig) from any. Running, it carries the load with 0.70 bar gauge");
  e.rundown->standing.anywhere_found = false;
  ck_says(&e, "78 deg of the crank; from some positions no supply does");
  e.rundown->standing.best_found = false;
  ck_says(&e, "No supply starts the load at standstill");
  e.rundown->running_found = false;
  ck_says(&e, "Running, no supply that the store may give carries the load.");
  e.rundown->starts = false;
  ck_never_says(&e, "standstill");
  rundown_maker_free(&e);
}
END_TEST

START_TEST(store_and_load) {
  struct rundown_maker e = rundown_maker_new();
  ck_says(&e, "Store 10.0 L at 200.00 bar gauge (201.00 bar absolute, 2900.8 psig), 20 degC: 2.37 "
              "kg of air, 2000 L ANR; vessel 12.5 kg; no heat from its walls; not below 1.00 bar");
  ck_says(&e, "Regulator set to 3.60 bar gauge (4.60 bar absolute, 52.2 psig), at least 0.50 bar "
              "below the store");
  ck_says(&e,
          "Load 4.20 N m at the crank, 26.4 J a revolution; at the wheel 30.0 N rolling, 7.00 N "
          "climbing, 2.00 N drag, at 18.0 km/h; 0.502 m a turn of the crank");
  ck_says(&e, "the cylinder at rest (freewheel)");
  ck_says(&e, "At 120 rpm");
  e.rundown->demand.climbing = -7;
  e.rundown->demand.drag = -2;
  ck_says(&e, "7.00 N back from going downhill, 2.00 N back from the wind");
  e.rundown->demand.drag_left_out = true;
  e.rundown->demand.vehicle_speed = e.rundown->speed = 0;
  ck_says(&e, "drag and wind left out, which need a speed; 0.502 m a turn");
  ck_says(&e, "Slow cycle, adiabatic");
  e.machine.load.coasting = LB_COASTING_MOTORING;
  ck_says(&e, "which costs 2.80 J a revolution");
  e.machine.load.coasting = LB_COASTING_NONE;
  ck_says(&e, "No coasting: what it gives beyond the load is lost");
  e.machine.store.heat = LB_STORE_TIME_CONSTANT;
  e.machine.store.time_constant = 600;
  ck_says(&e, "time constant of 10.0 min");
  e.machine.store.heat = LB_STORE_ISOTHERMAL;
  ck_says(&e, "its walls keep the air at their temperature");
  rundown_maker_free(&e);
}
END_TEST

START_TEST(fixed_timing_is_named) {
  struct rundown_maker e = rundown_maker_new();
  ck_says(&e, "Fixed timing: as timed in the file ");
  e.paper.rule = LB_ECONOMY;
  ck_says(&e, "Fixed timing: best economy at the supply pressure");
  e.paper.rule = LB_AS_TIMED;
  e.machine.timing[LB_CAP_END].cutoff_given = e.machine.timing[LB_ROD_END].cutoff_given = false;
  ck_says(&e, "its cut-off chosen for atmospheric release at the supply pressure");
  rundown_maker_free(&e);
}
END_TEST

START_TEST(inch_units) {
  struct rundown_maker e = rundown_maker_new();
  ck_assert(says(&e, true, "Store 0.353 cu ft at 2900.8 psi gauge"));
  ck_assert(says(&e, true, "5.22 lb of air")); /* 2.37/0.45359237 */
  ck_assert(says(&e, true, "rev rev ft ft min"));
  ck_assert(says(&e, true, "1001 2001 1644 3284")); /* 501 and 1001 over 0.3048 */
  ck_assert(says(&e, true, "at the wheel 6.74 lbf rolling"));
  ck_assert(says(&e, true, "at 11.2 mph"));
  ck_assert(says(&e, true, "level with a dead volume"));
  ck_assert(says(&e, true, "from 290 to 4351 psi gauge"));
  rundown_maker_free(&e);
}
END_TEST

/* All runs that an answer can have, with what grows with the store so many times as large. */
static void fill_up(struct lb_rundown *r, double factor) {
  for (int k = LB_STEPS_LEAST; k <= LB_STEPS_MOST; k++) {
    r->run[1 + k] = r->run[THREE];
    r->run[1 + k].steps = k;
  }
  r->run[LB_RUNS - 1] = r->run[BEST];
  r->run[LB_RUNS - 1].plan = LB_PLAN_FOLLOWING;
  r->run[0] = r->run[REGULATED];
  r->run[0].plan = LB_PLAN_UNREGULATED;
  r->runs = LB_RUNS;
  for (size_t k = 0; k < LB_RUNS; k++) {
    struct lb_run *run = &r->run[k];
    double *size[] = {&run->powered_revolutions,
                      &run->revolutions,
                      &run->powered_distance,
                      &run->distance,
                      &run->duration,
                      &run->work,
                      &run->useful_work,
                      &run->air_used,
                      &run->air_left,
                      &run->air_leaked,
                      &run->peak_pin_force};
    for (size_t i = 0; i < sizeof size / sizeof size[0]; i++)
      *size[i] *= factor;
  }
}

/* Whatever the size of figures, no line is too wide, and none ends in a blank. */
START_TEST(lines_fit) {
  static const double factors[] = {1e-3, 1, 1e3};
  struct rundown_maker e = rundown_maker_new();
  e.machine.store.leakage = 1e-12;
  fill_up(e.rundown, factors[_i]);
  for (int inch = 0; inch < 2; inch++) {
    char *text = NULL;
    note(&text, &e, inch);
    int lines = 0;
    for (char *line = strtok(text, "\n"); line; line = strtok(NULL, "\n"), lines++) {
      ck_assert_msg(strlen(line) <= WIDTH, "too wide: %s", line);
      ck_assert_msg(line[strlen(line) - 1] != ' ', "ends in a blank: %s", line);
      ck_assert_msg(!strstr(line, "nan") && !strstr(line, "inf"), "no number: %s", line);
    }
    ck_assert_int_gt(lines, 70);
    free(text);
  }
  rundown_maker_free(&e);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/answer_rundown");
  TCase *all = tcase_create("all");
  tcase_add_test(all, tables_have_every_figure);
  tcase_add_test(all, columns_that_apply);
  tcase_add_test(all, units_by_size);
  tcase_add_test(all, not_run);
  tcase_add_test(all, books);
  tcase_add_test(all, winner_and_margin);
  tcase_add_test(all, steps_and_flips);
  tcase_add_test(all, least_supply);
  tcase_add_test(all, store_and_load);
  tcase_add_test(all, fixed_timing_is_named);
  tcase_add_test(all, inch_units);
  tcase_add_loop_test(all, lines_fit, 0, 3);
  suite_add_tcase(suite, all);
  return support_run(suite, NULL);
}
