/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was understood of a machine file, on paper: which keys are listed in which section, their
 * values against the table of keys, and where a default or the command line decided.
 */
#include "machine_text.h"
#include "paper/answer_check.h"
#include "support.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A machine read from the least text and further lines. */
struct understood {
  struct lb_textfile *text;
  struct lb_machine machine;
  struct lb_given given;
  struct lb_check_paper paper;
};

static void understand(struct understood *u, const char *lines, const char *override) {
  char text[2048];
  snprintf(text, sizeof text, "%s%s", machine_text_least, lines);
  u->text = machine_text_keep(&u->machine, &u->given, text, override);
  u->paper = (struct lb_check_paper){&u->machine, &u->given, "my engine.ini", false, NULL, 0};
}

static char *note_of(const char *lines, const char *override) {
  struct understood u;
  char *note = NULL;
  understand(&u, lines, override);
  ck_assert_int_eq(lb_answer_check_text(&note, &u.paper, NULL), LB_OK);
  lb_textfile_free(u.text);
  return note;
}

static void ck_line(const char *note, const char *line) {
  ck_assert_msg(strstr(note, line) != NULL, "no line\n%s\nin:\n%s", line, note);
}

START_TEST(note) {
  char *text = note_of("", NULL);
  ck_line(text, "Unnamed machine: what was understood\n");
  ck_line(text, "\n[cylinder]\n");
  ck_line(text, "  bore                 50 mm                 0.05 m\n");
  ck_line(text, "  friction             0 N                   0 N                 default\n");
  ck_line(text, "  humidity             -                                         not known\n");
  ck_line(text, "  leakage              0 L/(s bar)           0 m3/(s Pa)         default *\n");
  ck_line(text, "\n* not used in the slow cycle\ncut-off, by default: chosen so that the air is "
                "released at back pressure\n");
  ck_line(text, "\nNo warnings.\n\nNext: lastbar cutoff 'my engine.ini'\n");
  free(text);
}
END_TEST

START_TEST(where_a_value_comes_from) {
  char *text = note_of("[surroundings]\naltitude = 500 m\n", "cylinder.friction=7 N");
  ck_line(text,
          "  friction             7 N                   7 N                   command line\n");
  ck_line(text, "  altitude             500 m\n");
  ck_line(text, "from altitude\n");
  free(text);
}
END_TEST

/* A key of timing stands in the section that gives it, and in that of both ends only if one of
 * them follows it. */
START_TEST(sections_of_timing) {
  char *text = note_of("[timing cap end]\nrelease = 170 deg\ncut-off = 60 deg\n"
                       "[timing rod end]\nrelease = 165 deg\n",
                       NULL);
  const char *both = strstr(text, "[timing]\n"), *cap = strstr(text, "[timing cap end]\n");
  const char *rod = strstr(text, "[timing rod end]\n");
  ck_assert(both && cap && rod && both < cap && cap < rod);
  ck_assert(strstr(both, "  cut-off ") < cap);
  ck_assert(strstr(both, "  release ") > cap);
  ck_line(cap, "  cut-off              60 deg                1.047198 rad\n");
  ck_line(rod, "  release              165 deg               2.879793 rad\n");
  free(text);
}
END_TEST

/* The exhaust shuts where the inlet opens, which differs: neither end's angle stands for both. */
START_TEST(default_that_differs) {
  char *text = note_of("[timing]\ninlet opens = -5 deg\n", NULL);
  ck_line(text, "  exhaust closes       355 deg               6.195919 rad        default\n");
  free(text);
  text = note_of("[timing cap end]\ninlet opens = -5 deg\n", "cylinder.leakage=1 L/(s bar)");
  ck_line(text, "\nexhaust closes, by default: 360 deg, or where the inlet opens if that is "
                "earlier\n");
  ck_line(text, "command line *\n");
  free(text);
}
END_TEST

/* Keys of an end that does not work, or of another linkage, are left out unless given. */
START_TEST(only_what_matters) {
  char *text = note_of("", "cylinder.acting=cap end");
  ck_assert_ptr_null(strstr(text, "offset"));
  ck_assert_ptr_null(strstr(text, "runs light at"));
  ck_line(text, "  dead volume rod end  18 cm3 ");
  free(text);
}
END_TEST

/* A section for the workshop is left out unless the text has it; then its defaults stand there. */
START_TEST(only_sections_that_are_there) {
  char *text = note_of("[encoder]\ncounts per turn = 360\n", "exhaust valve.off delay=8 ms");
  ck_line(text, "\n[encoder]\n  counts per turn       360                   360\n");
  ck_line(text, "  multiply              1                                         default\n");
  ck_line(text, "\n[exhaust valve]\n");
  ck_line(text, "  on delay              0 ms                  0 s                 default *\n");
  ck_line(text,
          "  off delay             8 ms                  0.008 s             command line *\n");
  ck_assert_ptr_null(strstr(text, "[inlet valve]"));
  ck_assert_ptr_null(strstr(text, "[switch disc]"));
  ck_assert_ptr_null(strstr(text, "[cam]"));
  free(text);
}
END_TEST

/* Of the ways to state a size only the one that was used, and what holds with it. */
START_TEST(sizes_of_valves) {
  char *text = note_of("[inlet valve]\nKv = 0.3 m3/h\n[exhaust valve]\norifice = 3 mm\n", NULL);
  const char *inlet = strstr(text, "[inlet valve]\n"), *exhaust = strstr(text, "[exhaust valve]\n");
  ck_assert(inlet && exhaust && !strstr(text, "conductance ") && !strstr(text, "  cv "));
  ck_line(inlet, "  kv                     0.3 m3/h              8.333333e-05 m3/s   *\n");
  ck_line(inlet, "  critical ratio         0.3                   0.3                 default *\n");
  ck_assert(strstr(inlet, "discharge coefficient") > exhaust);
  ck_line(exhaust,
          "  critical ratio         0.528282              0.5282818           default *\n");
  ck_line(exhaust,
          "  discharge coefficient  0.6                   0.6                 default *\n");
  free(text);
  text = note_of("", "inlet valve.on delay=8 ms");
  ck_line(text, "  conductance           -                                         not known *\n");
  ck_assert(!strstr(text, "series") && !strstr(text, "line conductance"));
  free(text);
}
END_TEST

/* A line for each valve that is known, with what the tube makes of it. */
START_TEST(flow_of_valves) {
  char *text = note_of("[inlet valve]\nconductance = 1.4 L/(s bar)\ncritical ratio = 0.25\n"
                       "subsonic index = 0.48\n",
                       NULL);
  ck_line(text, "\nInlet, all in series: C = 1.4 L/(s bar), b = 0.25, m = 0.48\n");
  ck_assert(!strstr(text, "Exhaust, all") && !strstr(text, "tube"));
  free(text);
  struct understood u;
  char line[200];
  understand(&u,
             "[inlet valve]\nconductance = 1.4 L/(s bar)\n[exhaust valve]\n"
             "conductance = 2 L/(s bar)\n[tube]\nlength = 300 mm\nbore = 4 mm\nserves = both\n",
             NULL);
  ck_assert_int_eq(lb_answer_check_text(&text, &u.paper, NULL), LB_OK);
  const struct lb_path *path = &u.machine.path[LB_EXHAUST_VALVE];
  snprintf(line, sizeof line, "\nExhaust, all in series: C = %.4g L/(s bar), b = %.3f; the tube",
           path->flow.conductance * 1e8, path->flow.critical_ratio);
  ck_line(text, line);
  ck_line(text, "\nThe tube adds 3.77 cm3 to the dead volume of each working end.\n");
  const char *number = strstr(strstr(text, line), "number of ");
  ck_assert(number != NULL);
  ck_close_relative(strtod(number + strlen("number of "), NULL), path->tube_reynolds, 0.05);
  free(text);
  lb_textfile_free(u.text);
}
END_TEST

START_TEST(quoted_names) {
  struct understood u;
  static const char *const names[][2] = {{"a-b_c.1/x.ini", "a-b_c.1/x.ini"},
                                         {"-", "-"},
                                         {"it's", "'it'\\''s'"},
                                         {"$HOME;x", "'$HOME;x'"}};
  understand(&u, "", NULL);
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    char *text, line[80];
    u.paper.file = names[i][0];
    ck_assert_int_eq(lb_answer_check_text(&text, &u.paper, NULL), LB_OK);
    snprintf(line, sizeof line, "\nNext: lastbar cutoff %s\n", names[i][1]);
    ck_line(text, line);
    free(text);
  }
  lb_textfile_free(u.text);
}
END_TEST

static json_t *get(json_t *object, const char *key) {
  json_t *value = json_object_get(object, key);
  ck_assert_msg(value != NULL, "no %s", key);
  return value;
}

/* One key of the JSON against the table of keys and the text. */
static void ck_key(json_t *object, const struct understood *u) {
  enum lb_end end;
  const char *section = json_string_value(get(object, "section"));
  const char *name = json_string_value(get(object, "key"));
  const struct lb_key *key = lb_keys_find(&end, section, name);
  const struct lb_entry *entry = lb_textfile_find(u->text, section, name);
  ck_assert_msg(key != NULL, "[%s] %s", section, name);
  double value = lb_keys_value(key, end, &u->machine);
  json_t *given = get(object, "given"), *line = get(object, "line");
  if (entry) {
    ck_assert_str_eq(json_string_value(given), entry->value);
    ck_assert(json_integer_value(line) == entry->line);
  } else {
    ck_assert(json_is_null(given) && json_is_null(line));
  }
  if (key->kind == LB_KEY_CHOICE || isnan(value)) {
    ck_assert(json_is_null(get(object, "value")) && json_is_null(get(object, "unit")));
  } else {
    ck_assert(json_real_value(get(object, "value")) == value);
    ck_assert_str_eq(json_string_value(get(object, "unit")), lb_units_si(key->quantity));
  }
}

START_TEST(json_and_csv) {
  struct understood u;
  char *text = NULL;
  understand(&u,
             "[timing rod end]\ncut-off = 50 % of stroke\n[inlet valve]\n"
             "conductance = 1.4 L/(s bar)\n",
             NULL);
  ck_assert_int_eq(lb_answer_check_json(&text, &u.paper, NULL), LB_OK);
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, NULL), *keys = get(root, "keys");
  free(text);
  ck_assert_str_eq(json_string_value(get(root, "command")), "check");
  ck_assert_uint_eq(json_array_size(get(root, "warnings")), 0);
  ck_assert(json_is_null(get(get(root, "paths"), "exhaust")));
  json_t *inlet = get(get(root, "paths"), "inlet");
  ck_close_relative(json_real_value(get(inlet, "conductance_m3_s_pa")), 1.4e-8, EXACT);
  ck_assert(json_real_value(get(inlet, "critical_ratio")) == 0.3);
  ck_assert(json_real_value(get(inlet, "subsonic_index")) == 0.5);
  ck_assert(json_is_null(get(inlet, "tube_reynolds")));
  ck_assert(json_real_value(get(root, "tube_volume_m3")) == 0);
  size_t count = json_array_size(keys);
  ck_assert_uint_ge(count, 30);
  for (size_t i = 0; i < count; i++)
    ck_key(json_array_get(keys, i), &u);
  ck_assert_int_eq(lb_answer_check_csv(&text, &u.paper, NULL), LB_OK);
  size_t lines = 0;
  for (const char *at = text; (at = strstr(at, "\r\n")); at += 2)
    lines++;
  ck_assert_uint_eq(lines, count + 1);
  free(text);
  json_decref(root);
  lb_textfile_free(u.text);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/answer_check");
  TCase *all = tcase_create("all");
  tcase_add_test(all, note);
  tcase_add_test(all, where_a_value_comes_from);
  tcase_add_test(all, sections_of_timing);
  tcase_add_test(all, default_that_differs);
  tcase_add_test(all, only_what_matters);
  tcase_add_test(all, only_sections_that_are_there);
  tcase_add_test(all, sizes_of_valves);
  tcase_add_test(all, flow_of_valves);
  tcase_add_test(all, quoted_names);
  tcase_add_test(all, json_and_csv);
  suite_add_tcase(suite, all);
  return support_run(suite, NULL);
}
