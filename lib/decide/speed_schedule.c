/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows on a coarse grid, then rows between them until interpolation does.
 *
 * Between two rows the curve is looked at near the middle. Where it has a bend there, as where the
 * flow at a valve ceases to choke, the error at the bend can be twice that in the middle: hence
 * interpolation is good when it errs by less than half the tolerance. A whole round of places is
 * calculated at once, each from a workspace of its own, so that no place depends on those before
 * it nor on who calculates it.
 */
#include "decide/speed_schedule.h"

#include "base/constants.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
  STEPS_FIRST = 6,   /* of the coarse grid at least, and fifteen at most */
  STEPS_LEAST = 2000 /* of the range: rows that lie closer hide a jump */
};
static const double share_used = 0.5;        /* [1] of the tolerance, see above */
static const double default_from = 10;       /* [rpm] a walking pace */
static const double default_to = 600;        /* [rpm] few valves with delays follow so far */
static const double default_from_most = 0.1; /* [1] of the upper end */
static const double default_to_least = 2;    /* [1] of the lower end */
static const double edge = 1.0 / 400;        /* [1] of the range: where an answer is lost */
static const double crowded = 1.0 / 3; /* [1] of a grid's step: too near an end of the range */

/* A speed and what the rule says there. */
struct place {
  double speed; /* [rad/s] */
  struct lb_running_choice choice;
  enum lb_status status;
  struct lb_error error;
};

/* A table in the making. */
struct making {
  const struct lb_machine *machine;
  const struct lb_speed_question *question;
  struct lb_speed_schedule *schedule;
  bool checked[LB_SPEED_ROWS]; /* from this row to the next interpolation does */
  struct place place[LB_SPEED_ROWS];
  struct place first, last, trial; /* the ends of the range, and what is tried to find them */
};

/* The answer at a place, of which nothing but its speed is known. */
static void ask(const struct making *m, struct place *place) {
  const struct lb_speed_question *q = m->question;
  struct lb_gas *gas = lb_gas_new();
  if (!gas) {
    place->status = lb_error_set(&place->error, LB_NO_MEMORY, "no memory for the calculation");
    return;
  }
  place->status = lb_running_cutoff(&place->choice, gas, m->machine, q->rule, q->margin,
                                    place->speed, &place->error);
  lb_gas_free(gas);
}

/* The answers at place[places]. Fails as the first of them that does. */
static enum lb_status ask_all(const struct making *m, struct place *place, size_t places,
                              struct lb_error *error) {
#ifdef _OPENMP
#pragma omp parallel for schedule(dynamic, 1)
#endif
  for (size_t i = 0; i < places; i++)
    ask(m, &place[i]);
  for (size_t i = 0; i < places; i++) {
    if (place[i].status == LB_NUMERIC)
      return lb_error_set(error, LB_NUMERIC, "at %.5g rpm: %s", place[i].speed / LB_RPM,
                          place[i].error.text);
    if (place[i].status != LB_OK)
      return lb_error_set(error, place[i].status, "%s", place[i].error.text);
  }
  return LB_OK;
}

/* Step of a grid of round speeds [rpm]: 1, 2 or 5 times a power of ten, the nth by falling size,
 * from the greatest that does not exceed a limit. */
static double round_step(double limit, int nth) {
  static const double digit[] = {5, 2, 1};
  const int digits = sizeof digit / sizeof digit[0];
  double power = pow(10, floor(log10(limit)));
  int first = limit >= digit[0] * power ? 0 : limit >= digit[1] * power ? 1 : 2;
  int place = first + nth;
  return digit[place % digits] * power * pow(10, -(double)(place / digits));
}

/* The roundest speed [rad/s] in the middle fifth between two. */
static double round_middle(double low, double high) {
  const double half_width =
      0.1; /* [1] of what lies between: holds a multiple of any smaller step */
  double gap = (high - low) / LB_RPM, middle = (low + high) / 2 / LB_RPM;
  for (int nth = 0;; nth++) {
    double step = round_step(gap, nth), multiple = step * round(middle / step);
    if (fabs(multiple - middle) <= half_width * gap)
      return multiple * LB_RPM;
  }
}

/* Put a row before that of an index; there must be room. */
static void insert(struct making *m, size_t at, const struct place *place) {
  struct lb_speed_schedule *s = m->schedule;
  memmove(&s->row[at + 1], &s->row[at], (s->rows - at) * sizeof s->row[0]);
  memmove(&m->checked[at + 1], &m->checked[at], (s->rows - at) * sizeof m->checked[0]);
  s->row[at] = (struct lb_speed_row){.speed = place->speed, .running = place->choice.running};
  memcpy(s->row[at].cutoff, place->choice.cutoff, sizeof s->row[at].cutoff);
  m->checked[at] = false;
  s->rows++;
}

/* The speeds of the coarse grid, the ends of the range among them; how many there are. */
static size_t lay_grid(struct making *m) {
  double from = m->schedule->asked_from / LB_RPM, to = m->schedule->asked_to / LB_RPM;
  double step = round_step((to - from) / STEPS_FIRST, 0);
  size_t places = 0;
  m->place[places++].speed = m->schedule->asked_from;
  for (double n = floor(from / step) + 1; n * step < to; n++)
    if (n * step - from > crowded * step && to - n * step > crowded * step)
      m->place[places++].speed = n * step * LB_RPM;
  m->place[places++].speed = m->schedule->asked_to;
  return places;
}

/* Between a place with an answer and one without, the last round one with an answer; the reason of
 * the other. */
static enum lb_status find_edge(struct making *m, struct place *with, const struct place *without,
                                char *why, struct lb_error *error) {
  double range = m->schedule->asked_to - m->schedule->asked_from, lost = without->speed;
  enum lb_status status = LB_OK;
  memcpy(why, without->choice.why, sizeof without->choice.why);
  while (status == LB_OK && fabs(lost - with->speed) > edge * range) {
    m->trial.speed = round_middle(fmin(lost, with->speed), fmax(lost, with->speed));
    status = ask_all(m, &m->trial, 1, error);
    if (status == LB_OK && m->trial.choice.found) {
      *with = m->trial;
    } else if (status == LB_OK) {
      lost = m->trial.speed;
      memcpy(why, m->trial.choice.why, sizeof m->trial.choice.why);
    }
  }
  return status;
}

/* The first rows: those of the grid that have an answer, from the slowest on, and where it is lost.
 */
static enum lb_status begin(struct making *m, struct lb_error *error) {
  size_t places = lay_grid(m), first = 0;
  enum lb_status status = ask_all(m, m->place, places, error);
  if (status != LB_OK)
    return status;
  while (first < places && !m->place[first].choice.found)
    first++;
  if (first == places)
    return lb_error_set(error, LB_NO_ANSWER, "no cut-off at any speed of the range: %s; %s",
                        m->place[0].choice.why, m->place[0].choice.would_do);
  size_t last = first;
  while (last + 1 < places && m->place[last + 1].choice.found)
    last++;
  m->first = m->place[first];
  m->last = m->place[last];
  if (first > 0)
    status = find_edge(m, &m->first, &m->place[first - 1], m->schedule->below, error);
  if (last + 1 < places && status == LB_OK)
    status = find_edge(m, &m->last, &m->place[last + 1], m->schedule->above, error);
  if (status == LB_OK && !(m->first.speed < m->last.speed))
    return lb_error_set(error, LB_NO_ANSWER,
                        "a cut-off at a single speed only; a wider range would do");
  insert(m, 0, &m->first);
  for (size_t i = first + 1; i < last; i++)
    insert(m, m->schedule->rows, &m->place[i]);
  insert(m, m->schedule->rows, &m->last);
  return status;
}

/* The greatest error of interpolation behind a row, from that at a place: what a parabola through
 * all three would have. */
static double greatest_error(const struct making *m, const struct lb_speed_row *row,
                             const struct place *place) {
  double share = (place->speed - row[0].speed) / (row[1].speed - row[0].speed), greatest = 0;
  for (int end = 0; end < LB_ENDS; end++)
    if (m->machine->works[end])
      greatest = fmax(greatest,
                      fabs(row[0].cutoff[end] + share * (row[1].cutoff[end] - row[0].cutoff[end]) -
                           place->choice.cutoff[end]));
  return greatest / (4 * share * (1 - share));
}

/* Whether interpolation does behind a row, by a place there; if not the place becomes a row. */
static enum lb_status judge(struct making *m, size_t row, const struct place *place,
                            struct lb_error *error) {
  struct lb_speed_schedule *s = m->schedule;
  double rpm = place->speed / LB_RPM;
  if (!place->choice.found)
    return lb_error_set(error, LB_NO_ANSWER,
                        "no cut-off at %.5g rpm, though slower and faster there is: %s; a range "
                        "that ends below or begins above would do",
                        rpm, place->choice.why);
  double greatest = greatest_error(m, &s->row[row], place);
  m->checked[row] = greatest < share_used * m->question->tolerance;
  if (m->checked[row]) {
    s->error = fmax(s->error, greatest);
    return LB_OK;
  }
  if (s->row[row + 1].speed - s->row[row].speed < (s->asked_to - s->asked_from) / STEPS_LEAST)
    return lb_error_set(error, LB_NO_ANSWER,
                        "the cut-off changes too steeply for a table at %.5g rpm; a range that "
                        "ends below or begins above would do",
                        rpm);
  if (s->rows == LB_SPEED_ROWS)
    return lb_error_set(error, LB_NO_ANSWER, "%d rows do not do; a narrower range of speeds would",
                        LB_SPEED_ROWS);
  insert(m, row + 1, place);
  return LB_OK;
}

/* Look at all gaps that are new, at once, and judge them from above, so that what lies below keeps
 * its place. */
static enum lb_status refine(struct making *m, bool *done, struct lb_error *error) {
  const struct lb_speed_schedule *s = m->schedule;
  size_t before[LB_SPEED_ROWS], places = 0;
  for (size_t i = 0; i + 1 < s->rows; i++)
    if (!m->checked[i]) {
      before[places] = i;
      m->place[places++].speed = round_middle(s->row[i].speed, s->row[i + 1].speed);
    }
  *done = places == 0;
  enum lb_status status = ask_all(m, m->place, places, error);
  while (places-- > 0 && status == LB_OK)
    status = judge(m, before[places], &m->place[places], error);
  return status;
}

/* The range asked for, or the one that stands for it. */
static enum lb_status ask_range(struct making *m, struct lb_error *error) {
  const struct lb_speed_question *q = m->question;
  struct lb_speed_schedule *s = m->schedule;
  double from = default_from * LB_RPM, to = default_to * LB_RPM;
  s->asked_from = q->from > 0 ? q->from : q->to > 0 ? fmin(from, default_from_most * q->to) : from;
  s->asked_to = q->to > 0 ? q->to : fmax(to, default_to_least * q->from);
  if (s->asked_from < s->asked_to)
    return LB_OK;
  return lb_error_set(
      error, LB_BAD_INPUT,
      "a range from %.5g to %.5g rpm is none; its lower end must be below its upper "
      "end",
      s->asked_from / LB_RPM, s->asked_to / LB_RPM);
}

enum lb_status lb_speed_schedule_find(struct lb_speed_schedule *schedule,
                                      const struct lb_machine *machine,
                                      const struct lb_speed_question *question,
                                      struct lb_error *error) {
  struct making *m = calloc(1, sizeof *m);
  if (!m)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the calculation");
  m->machine = machine;
  m->question = question;
  m->schedule = schedule;
  memset(schedule, 0, sizeof *schedule);
  bool done = false;
  enum lb_status status = ask_range(m, error);
  if (status == LB_OK)
    status = begin(m, error);
  while (status == LB_OK && !done)
    status = refine(m, &done, error);
  free(m);
  return status;
}
