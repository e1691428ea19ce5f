/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From row to row with the longest step that interpolation bears.
 *
 * The error of interpolating a smooth curve has one hill between two rows. Nine places between them
 * see all of it but a hundredth, and a bend in the curve (where a cut-off reaches the earliest
 * there is) but for a tenth: a step is taken when these nine stay below nine tenths of the
 * tolerance, and what is told as the error comes from sixty-four.
 */
#include "decide/schedule.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

enum {
  PLACES = 9,         /* looked at before a step is taken */
  PLACES_TOLD = 64,   /* looked at for the error that is told */
  LOOKS = 256,        /* pressures tried to see where there is an answer */
  HALVINGS = 40,      /* of the interval in which an answer is lost */
  STEP_HALVINGS = 12, /* of a step where the curve is steep */
  STEPS_MOST = 4096   /* longest step, in steps of the grid */
};
static const double share_used = 0.9;  /* [1] of the tolerance, see above */
static const double least_above = 2e4; /* [Pa] where a range begins that nobody stated */

/* A table in the making. */
struct making {
  struct lb_cycle *cycle;
  const struct lb_machine *machine;
  const struct lb_schedule_question *question;
  struct lb_schedule *schedule;
  struct lb_choice choice; /* of the pressure asked for last */
};

/* The answer of the rule at a pressure, in m->choice. */
static enum lb_status ask(struct making *m, double pressure, struct lb_error *error) {
  const struct lb_schedule_question *q = m->question;
  struct lb_machine machine = *m->machine;
  machine.supply_pressure = pressure;
  enum lb_status status = lb_cycle_prepare(m->cycle, &machine, error);
  if (status != LB_OK)
    return status;
  if (q->rule == LB_ECONOMY)
    return lb_cutoff_economy(&m->choice, m->cycle, error);
  if (q->rule == LB_ATMOSPHERIC)
    return lb_cutoff_atmospheric(&m->choice, m->cycle, q->margin, error);
  return lb_cutoff_as_timed(&m->choice, m->cycle, q->margin, error);
}

/* The cut-offs at a pressure where there must be some. */
static enum lb_status ask_row(struct making *m, struct lb_schedule_row *row, double pressure,
                              struct lb_error *error) {
  enum lb_status status = ask(m, pressure, error);
  if (status == LB_OK && !m->choice.found)
    return lb_error_set(error, LB_NO_ANSWER, "%s", m->choice.why);
  *row = (struct lb_schedule_row){.supply_pressure = pressure,
                                  .own = pressure == m->machine->supply_pressure};
  memcpy(row->cutoff, m->choice.cutoff, sizeof row->cutoff);
  return status;
}

/* Between a pressure with an answer and one without, the last with one; the reason of the other. */
static enum lb_status find_edge(struct making *m, double *with, double without, char *why,
                                struct lb_error *error) {
  enum lb_status status = ask(m, without, error);
  if (status == LB_OK)
    memcpy(why, m->choice.why, sizeof m->choice.why);
  for (int i = 0; i < HALVINGS && status == LB_OK; i++) {
    double middle = (*with + without) / 2;
    status = ask(m, middle, error);
    if (m->choice.found)
      *with = middle;
    else
      without = middle;
  }
  return status;
}

/* The range in which there is an answer: around the machine's own pressure if that has one, else
 * the lowest. */
static enum lb_status narrow(struct making *m, double *from, double *to, struct lb_error *error) {
  double low = *from, span = *to - *from, own = m->machine->supply_pressure;
  bool found[LOOKS + 1];
  int begin = -1;
  for (int i = 0; i <= LOOKS; i++) {
    enum lb_status status = ask(m, low + span * i / LOOKS, error);
    if (status != LB_OK)
      return status;
    found[i] = m->choice.found;
    bool starts = found[i] && (i == 0 || !found[i - 1]);
    if (starts && (begin < 0 || low + span * i / LOOKS <= own))
      begin = i;
  }
  if (begin < 0)
    return lb_error_set(error, LB_NO_ANSWER, "no cut-off at any supply pressure of the range: %s",
                        m->choice.why);
  int end = begin;
  while (end < LOOKS && found[end + 1])
    end++;
  *from = low + span * begin / LOOKS;
  *to = low + span * end / LOOKS;
  enum lb_status status = LB_OK;
  if (begin > 0)
    status = find_edge(m, from, low + span * (begin - 1) / LOOKS, m->schedule->below, error);
  if (end < LOOKS && status == LB_OK)
    status = find_edge(m, to, low + span * (end + 1) / LOOKS, m->schedule->above, error);
  return status;
}

/* The greatest error [rad] of interpolating between two rows, looked for in some places. */
static enum lb_status miss(struct making *m, const struct lb_schedule_row *a,
                           const struct lb_schedule_row *b, int places, double *greatest,
                           struct lb_error *error) {
  *greatest = 0;
  for (int i = 1; i <= places; i++) {
    struct lb_schedule_row row;
    double share = i / (places + 1.0);
    double pressure = a->supply_pressure + share * (b->supply_pressure - a->supply_pressure);
    enum lb_status status = ask_row(m, &row, pressure, error);
    if (status != LB_OK)
      return status;
    for (int end = 0; end < LB_ENDS; end++)
      if (m->machine->works[end])
        *greatest =
            fmax(*greatest, fabs(a->cutoff[end] + share * (b->cutoff[end] - a->cutoff[end]) -
                                 row.cutoff[end]));
  }
  return LB_OK;
}

/* Whether interpolation bears a step from the last row to a pressure; the row there. */
static enum lb_status bears(struct making *m, double pressure, struct lb_schedule_row *row,
                            bool *good, struct lb_error *error) {
  const struct lb_schedule *s = m->schedule;
  double greatest = 0;
  enum lb_status status = ask_row(m, row, pressure, error);
  if (status == LB_OK)
    status = miss(m, &s->row[s->rows - 1], row, PLACES, &greatest, error);
  *good = greatest <= share_used * m->question->tolerance;
  return status;
}

/* The first multiple of a step, counted from ambient pressure, that lies above a pressure. */
static double next_multiple(const struct making *m, double pressure, double step) {
  const double nearly = 1e-9; /* [1] of a step: no row as close as that to another */
  double ambient = m->machine->ambient_pressure;
  return ambient + step * floor((pressure - ambient) / step + 1 + nearly);
}

static enum lb_status add_row(struct making *m, const struct lb_schedule_row *row,
                              struct lb_error *error) {
  struct lb_schedule *s = m->schedule;
  if (s->rows == LB_SCHEDULE_ROWS)
    return lb_error_set(error, LB_NO_ANSWER,
                        "%d rows do not do; a narrower range of supply pressures would",
                        LB_SCHEDULE_ROWS);
  s->row[s->rows++] = *row;
  return LB_OK;
}

/* Add the furthest row up to a pressure that the last one bears: on the grid, or on its halves
 * where a single step is too long. */
static enum lb_status add_furthest(struct making *m, double limit, struct lb_error *error) {
  const struct lb_schedule *s = m->schedule;
  double last = s->row[s->rows - 1].supply_pressure, step = m->question->step;
  struct lb_schedule_row row, best;
  bool good = false;
  enum lb_status status = LB_OK;
  for (int i = 0; i < STEP_HALVINGS && !good && status == LB_OK; i++, step /= 2)
    status = bears(m, fmin(next_multiple(m, last, step), limit), &best, &good, error);
  if (status != LB_OK)
    return status;
  if (!good)
    return lb_error_set(
        error, LB_NO_ANSWER,
        "the cut-off changes too steeply near %.4g bar absolute for a table; a range "
        "that begins higher would do",
        last / LB_BAR);
  step *= 2;
  /* first ever longer steps, then halving between the last that was borne and the first that was
   * not */
  long borne = 1, refused = STEPS_MOST;
  for (long try = 2; refused - borne > 1 && best.supply_pressure < limit && status == LB_OK;) {
    double first = next_multiple(m, last, step);
    status = bears(m, fmin(first + (double)(try - 1) * step, limit), &row, &good, error);
    if (good) {
      best = row;
      borne = try;
    } else {
      refused = try;
    }
    try = refused == STEPS_MOST ? 2 * borne : (borne + refused) / 2;
  }
  return status == LB_OK ? add_row(m, &best, error) : status;
}

/* All rows from one pressure to another, both included. */
static enum lb_status fill(struct making *m, double from, double to, struct lb_error *error) {
  struct lb_schedule *s = m->schedule;
  enum lb_status status = LB_OK;
  if (s->rows == 0) {
    struct lb_schedule_row row;
    status = ask_row(m, &row, from, error);
    if (status == LB_OK)
      status = add_row(m, &row, error);
  }
  while (status == LB_OK && s->row[s->rows - 1].supply_pressure < to)
    status = add_furthest(m, to, error);
  return status;
}

static enum lb_status measure(struct making *m, struct lb_error *error) {
  struct lb_schedule *s = m->schedule;
  for (size_t i = 0; i + 1 < s->rows; i++) {
    double greatest;
    enum lb_status status = miss(m, &s->row[i], &s->row[i + 1], PLACES_TOLD, &greatest, error);
    if (status != LB_OK)
      return status;
    s->error = fmax(s->error, greatest);
  }
  return LB_OK;
}

/* The range asked for, or the one that stands for it. */
static enum lb_status ask_range(struct making *m, double *from, double *to,
                                struct lb_error *error) {
  const struct lb_machine *machine = m->machine;
  const struct lb_schedule_question *q = m->question;
  double back = machine->back_pressure, own = machine->supply_pressure;
  *from = q->from > 0 ? q->from : back + q->margin + least_above;
  *to = q->to > 0                     ? q->to
        : machine->rated_pressure > 0 ? machine->rated_pressure
                                      : back + 2 * (own - back);
  m->schedule->asked_from = *from;
  m->schedule->asked_to = *to;
  if (*from < *to)
    return LB_OK;
  double ambient = machine->ambient_pressure;
  return lb_error_set(
      error, LB_BAD_INPUT,
      "a range from %.4g to %.4g bar gauge is none; its lower end must be below its "
      "upper end",
      (*from - ambient) / LB_BAR, (*to - ambient) / LB_BAR);
}

/* Ends that nobody stated, and those where the answer is lost, are moved inwards to the grid. */
static void round_range(const struct making *m, double *from, double *to) {
  const double nearly = 1e-9; /* [1] of a step */
  const struct lb_schedule_question *q = m->question;
  double ambient = m->machine->ambient_pressure, step = q->step;
  bool lost_below = *m->schedule->below, lost_above = *m->schedule->above;
  double low = ambient + step * ceil((*from - ambient) / step + (lost_below ? nearly : -nearly));
  double high = ambient + step * floor((*to - ambient) / step + (lost_above ? -nearly : nearly));
  if ((q->from <= 0 || lost_below) && low < *to)
    *from = low;
  if ((q->to <= 0 || lost_above) && high > *from)
    *to = high;
}

static enum lb_status make(struct making *m, struct lb_error *error) {
  double from, to, own = m->machine->supply_pressure;
  enum lb_status status = ask_range(m, &from, &to, error);
  if (status == LB_OK)
    status = narrow(m, &from, &to, error);
  if (status != LB_OK)
    return status;
  round_range(m, &from, &to);
  if (!(from < to))
    return lb_error_set(error, LB_NO_ANSWER,
                        "a cut-off at a single supply pressure only; a wider range would do");
  if (own > from && own < to)
    status = fill(m, from, own, error);
  if (status == LB_OK)
    status = fill(m, from, to, error);
  return status == LB_OK ? measure(m, error) : status;
}

enum lb_status lb_schedule_find(struct lb_schedule *schedule, const struct lb_machine *machine,
                                const struct lb_schedule_question *question,
                                struct lb_error *error) {
  *schedule = (struct lb_schedule){.rows = 0};
  struct making m = {
      .cycle = lb_cycle_new(), .machine = machine, .question = question, .schedule = schedule};
  if (!m.cycle)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the calculation");
  enum lb_status status = make(&m, error);
  lb_cycle_free(m.cycle);
  return status;
}
