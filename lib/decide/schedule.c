/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From row to row with the longest step that interpolation bears.
 *
 * The error of interpolating a smooth curve has one hill between two rows. Nineteen places between
 * them see all of it but a few thousandths, and a bend in the curve (where a cut-off reaches the
 * earliest there is) but for a twentieth: a step is taken when these stay below nine tenths of the
 * tolerance, and what is told as the error comes from sixty-four.
 */
#include "decide/schedule.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

enum {
  PLACES = 19,        /* looked at before a step is taken */
  PLACES_TOLD = 64,   /* looked at for the error that is told */
  LOOKS = 256,        /* pressures tried to see where there is an answer */
  HALVINGS = 40,      /* of the interval in which an answer is lost */
  STEP_HALVINGS = 12, /* of a step where the curve is steep */
  STEPS_MOST = 4096   /* longest step, in steps of the grid */
};
static const double share_used = 0.9;  /* [1] of the tolerance, see above */
static const double least_above = 2e4; /* [Pa] where a range begins that nobody stated */
static const double least_range = 1e5; /* [Pa] its least length */
static const double most_of_all = 1e7; /* [Pa absolute] where it ends: air is no ideal gas above */
static const double nearly = 1e-9;     /* [1] of a step: pressures as close as that are the same */

/* A table in the making. */
struct making {
  struct lb_cycle *cycle;
  const struct lb_machine *machine;
  const struct lb_schedule_question *question;
  struct lb_schedule *schedule;
  double own;              /* [Pa absolute] the machine's supply as a row has it */
  struct lb_choice choice; /* of the pressure asked for last */
};

/* The pressure in whole units that is nearest, or next in a direction (1: up, -1: down). */
static double in_units(const struct making *m, double pressure, int direction) {
  double unit = m->question->unit, count = pressure / unit;
  if (!(unit > 0))
    return pressure;
  return unit * (direction > 0   ? ceil(count - nearly)
                 : direction < 0 ? floor(count + nearly)
                                 : round(count));
}

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
  *row = (struct lb_schedule_row){.supply_pressure = pressure, .own = pressure == m->own};
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
  if (end < LOOKS)
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

/* The multiple of a step, counted from ambient pressure, that comes as the nth after a pressure,
 * but no pressure past a limit, nor one that differs from it by a rounding. */
static double next_multiple(const struct making *m, double pressure, double step, long nth,
                            double limit) {
  double ambient = m->machine->ambient_pressure, half = m->question->unit / 2;
  double passed = floor((pressure - ambient + half) / step + nearly);
  double multiple = in_units(m, ambient + step * (passed + (double)nth), 0);
  return multiple < limit - nearly * step ? multiple : limit;
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

/* Say that no rows do from a pressure on. */
static enum lb_status refuse_steep(const struct making *m, double pressure,
                                   struct lb_error *error) {
  double gauge = pressure - m->machine->ambient_pressure;
  return lb_error_set(error, LB_NO_ANSWER,
                      "the cut-off changes too steeply for a table at %.2f bar gauge (%.1f psig); "
                      "a range that ends below or begins above would do",
                      gauge / LB_BAR, gauge / LB_PSI);
}

/* The row a single step after the last one, on the grid or on its halves where the step is too
 * long; the step that was taken. */
static enum lb_status step_once(struct making *m, double limit, struct lb_schedule_row *row,
                                double *step, struct lb_error *error) {
  const struct lb_schedule *s = m->schedule;
  double last = s->row[s->rows - 1].supply_pressure;
  bool good = false;
  *step = m->question->step;
  for (int i = 0; i < STEP_HALVINGS; i++) {
    enum lb_status status = bears(m, next_multiple(m, last, *step, 1, limit), row, &good, error);
    if (status != LB_OK || good)
      return status;
    *step = fmax(*step / 2, m->question->unit);
  }
  return refuse_steep(m, last, error);
}

/* Add the furthest row up to a pressure that the last one bears. */
static enum lb_status add_furthest(struct making *m, double limit, struct lb_error *error) {
  const struct lb_schedule *s = m->schedule;
  double last = s->row[s->rows - 1].supply_pressure, step;
  struct lb_schedule_row row, best;
  enum lb_status status = step_once(m, limit, &best, &step, error);
  if (status != LB_OK)
    return status;
  /* first ever longer steps, then halving between the last that was borne and the first that was
   * not */
  long borne = 1, refused = STEPS_MOST;
  for (long try = 2; refused - borne > 1 && best.supply_pressure < limit && status == LB_OK;) {
    bool good = false;
    status = bears(m, next_multiple(m, last, step, try, limit), &row, &good, error);
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

/* Measure the error that is told. Where it shows what the fewer places overlooked, a cut-off that
 * jumps to and fro over little pressure, no table would hold. */
static enum lb_status measure(struct making *m, struct lb_error *error) {
  struct lb_schedule *s = m->schedule;
  for (size_t i = 0; i + 1 < s->rows; i++) {
    double greatest;
    enum lb_status status = miss(m, &s->row[i], &s->row[i + 1], PLACES_TOLD, &greatest, error);
    if (status != LB_OK)
      return status;
    if (!(greatest < m->question->tolerance))
      return refuse_steep(m, s->row[i].supply_pressure, error);
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
  double rated = machine->rated_pressure, least = back + q->margin;
  *from = q->from > 0 ? q->from : least + least_above;
  *to =
      q->to > 0 ? q->to : fmax(fmin(rated > 0 ? rated : back + 2 * (own - back), most_of_all), own);
  if (q->from <= 0 && own > least)
    *from = fmin(*from, own);
  if (q->from <= 0 && q->to <= 0)
    *to = fmax(*to, *from + least_range);
  m->schedule->asked_from = *from;
  m->schedule->asked_to = *to;
  if (*from < *to)
    return LB_OK;
  double ambient = machine->ambient_pressure;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a range from %.4g to %.4g bar gauge (%.4g to %.4g psig) is none; its lower "
                      "end must be below its upper end",
                      (*from - ambient) / LB_BAR, (*to - ambient) / LB_BAR,
                      (*from - ambient) / LB_PSI, (*to - ambient) / LB_PSI);
}

/* Ends that nobody stated, and those where the answer is lost, are moved inwards to the grid, but
 * not past the machine's own supply. */
static void round_range(const struct making *m, double *from, double *to) {
  const struct lb_schedule_question *q = m->question;
  double own = m->machine->supply_pressure, least = *from, most = *to;
  double ambient = m->machine->ambient_pressure, step = q->step;
  bool lost_below = *m->schedule->below, lost_above = *m->schedule->above;
  double low = ambient + step * ceil((*from - ambient) / step + (lost_below ? nearly : -nearly));
  double high = ambient + step * floor((*to - ambient) / step + (lost_above ? -nearly : nearly));
  if ((q->from <= 0 || lost_below) && low < *to)
    *from = low;
  if ((q->to <= 0 || lost_above) && high > *from)
    *to = high;
  if (own >= least && own <= most) {
    *from = fmin(*from, own);
    *to = fmax(*to, own);
  }
  *from = in_units(m, *from, 1);
  *to = in_units(m, *to, -1);
}

/* The machine's own supply as a row has it: an end of the range where rounding to units has parted
 * them. */
static double find_own(const struct making *m, double from, double to) {
  double exact = m->machine->supply_pressure, unit = m->question->unit;
  double own = in_units(m, exact, 0);
  if (own < from && exact > from - unit)
    return from;
  return own > to && exact < to + unit ? to : own;
}

static enum lb_status make(struct making *m, struct lb_error *error) {
  double from, to;
  enum lb_status status = ask_range(m, &from, &to, error);
  if (status == LB_OK)
    status = narrow(m, &from, &to, error);
  if (status != LB_OK)
    return status;
  round_range(m, &from, &to);
  if (!(from < to))
    return lb_error_set(error, LB_NO_ANSWER,
                        "a cut-off at a single supply pressure only; a wider range would do");
  m->own = find_own(m, from, to);
  if (m->own > from && m->own < to)
    status = fill(m, from, m->own, error);
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
