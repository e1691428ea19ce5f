/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a degree costs: every exact derivative against differences of whole revolutions, taken to
 * the limit; every tolerance against the loss at its end and inside it.
 */
#include "decide/sensitivity.h"

#include "base/constants.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/cycle.h"
#include "support.h"

#include <stdbool.h>

static const double degree = LB_PI / 180, full_turn = 2 * LB_PI;

/* A machine, its cut-offs, and a cycle to turn it with. */
struct subject {
  struct lb_machine machine;
  double cutoff[LB_ENDS];
  struct lb_cycle *cycle;
};

/* The angle of an event. */
static double *event_of(struct subject *s, enum lb_end end, enum lb_varied event) {
  struct lb_timing *t = &s->machine.timing[end];
  switch (event) {
  case LB_VARIED_INLET_OPENS:
    return &t->inlet_opens;
  case LB_VARIED_CUTOFF:
    return &s->cutoff[end];
  case LB_VARIED_RELEASE:
    return &t->release;
  default:
    return &t->exhaust_closes;
  }
}

/* One quantity changed by an amount. */
static struct subject moved(const struct subject *subject, enum lb_end end, enum lb_varied varied,
                            double by) {
  struct subject s = *subject;
  if (varied == LB_VARIED_SUPPLY_PRESSURE)
    s.machine.supply_pressure += by;
  else if (varied == LB_VARIED_DEAD_VOLUME)
    s.machine.dead_volume[end] += by;
  else
    *event_of(&s, end, varied) += by;
  return s;
}

/* Events in order, and nothing negative. */
static bool valid(const struct subject *s) {
  for (int i = 0; i < LB_ENDS; i++) {
    const struct lb_timing *t = &s->machine.timing[i];
    if (!s->machine.works[i])
      continue;
    bool ordered = t->inlet_opens < s->cutoff[i] && s->cutoff[i] <= t->release &&
                   t->release < t->exhaust_closes &&
                   t->exhaust_closes <= t->inlet_opens + full_turn && s->cutoff[i] >= 0;
    if (!ordered || s->machine.dead_volume[i] < 0)
      return false;
  }
  return true;
}

static bool turn(struct lb_revolution *r, const struct subject *s) {
  return lb_cycle_prepare(s->cycle, &s->machine, NULL) == LB_OK &&
         lb_cycle_turn(r, s->cycle, s->cutoff, NULL) == LB_OK;
}

/* What is differentiated. */
enum figure {
  RELEASE_PRESSURE,
  WORK,
  AIR,
  FIGURES
};

static void figures_of(double *figure, const struct lb_revolution *r, enum lb_end end) {
  figure[RELEASE_PRESSURE] = r->end[end].turn.release_pressure;
  figure[WORK] = r->work;
  figure[AIR] = r->air;
}

/* The model's corners: which way trapped air flows when the inlet opens, and air at release. */
static unsigned side_of(const struct subject *s, const struct lb_revolution *r) {
  unsigned side = 0;
  for (int i = 0; i < LB_ENDS; i++) {
    const struct lb_turn *t = &r->end[i].turn;
    side = 4 * side + (t->compression_pressure > s->machine.supply_pressure ? 2 : 0) +
           (t->release_pressure < s->machine.back_pressure ? 1 : 0);
  }
  return side;
}

enum {
  LEVELS = 6
};

/* Differences of all figures at steps h, h/2, h/4 ..., from off[0] to off[1] steps away; false
 * where a step leaves the valid machines or crosses a corner. */
static bool differences(double difference[LEVELS][FIGURES], const struct subject *subject,
                        const struct lb_sensitivity *row, double step, const int *off) {
  unsigned first = 0;
  for (int i = 0; i < LEVELS; i++, step /= 2) {
    double figure[2][FIGURES];
    for (int k = 0; k < 2; k++) {
      struct subject s = moved(subject, row->end, row->varied, off[k] * step);
      struct lb_revolution r;
      if (!valid(&s) || !turn(&r, &s))
        return false;
      figures_of(figure[k], &r, row->end);
      if (i == 0 && k == 0)
        first = side_of(&s, &r);
      if (side_of(&s, &r) != first)
        return false;
    }
    for (int f = 0; f < FIGURES; f++)
      difference[i][f] = (figure[1][f] - figure[0][f]) / ((off[1] - off[0]) * step);
  }
  return true;
}

/* Both sides where the machine can be on both, else the one it can. */
static bool differences_where_valid(double difference[LEVELS][FIGURES],
                                    const struct subject *subject, const struct lb_sensitivity *row,
                                    double step) {
  const int off[3][2] = {{-1, 1}, {0, 1}, {-1, 0}};
  for (int i = 0; i < 3; i++)
    if (differences(difference, subject, row, step, off[i]))
      return true;
  return false;
}

/* The limit of differences at halved steps, all powers of the step taken out (at a dead centre the
 * second derivative jumps, so that odd powers remain); what the last extrapolation changed. */
static double limit(double difference[LEVELS][FIGURES], enum figure figure, double *change) {
  double t[LEVELS];
  for (int i = 0; i < LEVELS; i++)
    t[i] = difference[i][figure];
  for (int power = 1; power < LEVELS; power++)
    for (int i = LEVELS - 1; i >= power; i--)
      t[i] += (t[i] - t[i - 1]) / (pow(2, power) - 1);
  *change = fabs(t[LEVELS - 1] - t[LEVELS - 2]);
  return t[LEVELS - 1];
}

/* The change of a quantity that would matter, against which errors are measured: a radian, the
 * swept volume, the supply pressure. */
static double extent_of(const struct lb_machine *m, enum lb_end end, enum lb_varied varied) {
  if (varied == LB_VARIED_SUPPLY_PRESSURE)
    return m->supply_pressure;
  if (varied == LB_VARIED_DEAD_VOLUME)
    return lb_machine_area(m, end) * m->linkage.stroke;
  return 1;
}

/* The step to begin with: within a dead volume that is there. */
static double step_of(const struct lb_machine *m, enum lb_end end, enum lb_varied varied) {
  if (varied == LB_VARIED_DEAD_VOLUME && m->dead_volume[end] > 0)
    return 0.02 * m->dead_volume[end];
  return 1e-3 * extent_of(m, end, varied);
}

/* How many derivatives were compared, how many not: a corner or an invalid machine too near, or
 * differences that do not settle. Without dead volume an
 * exhaust that closes at dead centre can close nowhere else, so that nothing can be compared. */
struct compared {
  int rows, skipped, unsettled;
};

static void compare_row(struct compared *n, const struct subject *s,
                        const struct lb_sensitivity *row) {
  const struct lb_machine *m = &s->machine;
  double difference[LEVELS][FIGURES], step = step_of(m, row->end, row->varied);
  double gross = m->supply_pressure * lb_machine_swept_volume(m);
  const double exact[FIGURES] = {row->release_pressure, row->work, row->air};
  const double scale[FIGURES] = {m->supply_pressure, gross,
                                 gross / (LB_GAS_CONSTANT * m->supply_temperature)};
  double extent = extent_of(m, row->end, row->varied);
  for (int attempt = 0; attempt < 6; attempt++, step /= 4) {
    double found[FIGURES], change, worst = 0;
    if (!differences_where_valid(difference, s, row, step))
      continue;
    for (int f = 0; f < FIGURES; f++) {
      found[f] = limit(difference, (enum figure)f, &change);
      worst = fmax(worst, change * extent / scale[f]);
    }
    if (worst > 1e-8)
      continue;
    for (int f = 0; f < FIGURES; f++)
      ck_assert_msg(fabs(found[f] - exact[f]) * extent <= 1e-7 * scale[f],
                    "end %d, varied %d, figure %d: %.12g, by differences %.12g", row->end,
                    row->varied, f, exact[f], found[f]);
    n->rows++;
    return;
  }
  if (differences_where_valid(difference, s, row, step))
    n->unsettled++;
  else
    n->skipped++;
}

/* Move events apart that coincide where neither may pass the other; and a supply off the ambient
 * pressure, where |net force| of one open end is at its corner. */
static void separate(struct lb_machine *m) {
  const double apart = 3 * degree, off = 1.01;
  if (m->friction_share > 0 && m->supply_pressure == m->ambient_pressure)
    m->supply_pressure *= off;
  for (int i = 0; i < LB_ENDS; i++) {
    struct lb_timing *t = &m->timing[i];
    if (t->release - t->cutoff < apart)
      t->cutoff = t->release - apart;
    t->cutoff = fmax(t->cutoff, fmax(t->inlet_opens, 0) + apart);
    if (t->inlet_opens + full_turn - t->exhaust_closes < apart && m->dead_volume[i] > 0)
      t->exhaust_closes = t->inlet_opens + full_turn - apart;
  }
}

/* The next machine that turns, with its sensitivities; those it cannot turn are passed over. */
static size_t next_subject(struct subject *s, struct lb_sensitivity *row, uint64_t *state) {
  struct lb_revolution r;
  size_t count;
  do {
    random_machine(&s->machine, state);
    separate(&s->machine);
    random_machine_cutoff(s->cutoff, &s->machine);
  } while (!valid(s) || !turn(&r, s));
  ck_assert_int_eq(lb_sensitivity_find(row, &count, s->cycle, s->cutoff, NULL), LB_OK);
  return count;
}

/* Worked ends in order, each with every quantity in order. */
static void check_rows(const struct subject *s, const struct lb_sensitivity *row, size_t count) {
  size_t k = 0;
  for (int i = 0; i < LB_ENDS; i++)
    for (int v = 0; s->machine.works[i] && v < LB_VARIED; v++, k++)
      ck_assert(k < count && row[k].end == (enum lb_end)i && row[k].varied == (enum lb_varied)v);
  ck_assert_uint_eq(k, count);
}

START_TEST(derivatives_of_random_machines) {
  uint64_t state = 331;
  struct compared n = {0, 0, 0};
  struct tally tally = {{0}};
  struct subject s = {.cycle = lb_cycle_new()};
  for (int i = 0; i < support_times(1000); i++) {
    struct lb_sensitivity row[LB_SENSITIVITIES];
    size_t count = next_subject(&s, row, &state);
    check_rows(&s, row, count);
    for (size_t k = 0; k < count; k++)
      compare_row(&n, &s, &row[k]);
    tally_add(&tally, &s.machine);
  }
  lb_cycle_free(s.cycle);
  ck_assert_int_eq(n.unsettled, 0);
  ck_assert_msg(n.rows > support_least(8000) && n.skipped < n.rows / 50, "%d compared, %d skipped",
                n.rows, n.skipped);
  tally.seen[CASE_EARLIEST_CUTOFF] = tally.seen[CASE_NO_COMPRESSION] = 10; /* moved apart */
  tally_require(&tally, support_least(10));
}
END_TEST

/* The supply acts on the whole machine: both ends' rows say the same of work and air, the sum over
 * the ends. Without friction the work of one end alone is found by working that end only. */
START_TEST(supply_acts_on_both_ends) {
  uint64_t state = 332;
  int seen = 0;
  struct subject s = {.cycle = lb_cycle_new()};
  for (int i = 0; i < support_times(200); i++) {
    struct lb_sensitivity row[LB_SENSITIVITIES], one[LB_SENSITIVITIES];
    double work = 0, air = 0;
    size_t count = next_subject(&s, row, &state);
    if (count < LB_SENSITIVITIES || s.machine.friction_share > 0)
      continue;
    for (int end = 0; end < LB_ENDS; end++) {
      struct subject half = s;
      half.machine.works[LB_ENDS - 1 - end] = false;
      ck_assert_int_eq(lb_cycle_prepare(s.cycle, &half.machine, NULL), LB_OK);
      ck_assert_int_eq(lb_sensitivity_find(one, &count, s.cycle, s.cutoff, NULL), LB_OK);
      ck_assert_uint_eq(count, LB_VARIED);
      work += one[LB_VARIED_SUPPLY_PRESSURE].work;
      air += one[LB_VARIED_SUPPLY_PRESSURE].air;
    }
    for (int k = LB_VARIED_SUPPLY_PRESSURE; k < LB_SENSITIVITIES; k += LB_VARIED) {
      ck_close_relative(row[k].work, work, IDENTITY);
      ck_close_relative(row[k].air, air, IDENTITY);
    }
    seen++;
  }
  lb_cycle_free(s.cycle);
  ck_assert_int_ge(seen, support_least(30));
}
END_TEST

/* A tolerance is about one of these losses. */
struct loss {
  struct subject *subject;
  enum lb_end end;
  enum lb_varied event;
  bool of_pressure;
  double work_per_kg, release; /* unmoved */
};

/* The share of the loss that an event moved by an angle has cost: 1 when complete; INFINITY where
 * no revolution exists. */
static double loss_at(const struct loss *l, double by) {
  struct subject s = moved(l->subject, l->end, l->event, by);
  struct lb_revolution r;
  if (!turn(&r, &s))
    return (double)INFINITY;
  if (l->of_pressure)
    return fabs(r.end[l->end].turn.release_pressure - l->release) / 1e4;
  return (1 - r.work_per_kg / l->work_per_kg) / 0.01;
}

/* How far the event can go at all: to the event before or after it, at most 90 deg. */
static double room(struct subject *s, enum lb_end end, enum lb_varied event, bool later) {
  const struct lb_timing *t = &s->machine.timing[end];
  double here = *event_of(s, end, event), cutoff = s->cutoff[end], to = 0;
  if (event == LB_VARIED_INLET_OPENS)
    to = later ? cutoff : fmax(t->exhaust_closes - full_turn, -90 * degree);
  else if (event == LB_VARIED_CUTOFF)
    to = later ? t->release : fmax(t->inlet_opens, 0);
  else if (event == LB_VARIED_RELEASE)
    to = later ? t->exhaust_closes : cutoff;
  else
    to = later ? t->inlet_opens + full_turn : t->release;
  return fmin(fabs(to - here), 90 * degree);
}

/* How many tolerances ended which way. */
struct ends {
  int limited, lost, impossible;
};

/* A tolerance in one direction. Inside, the loss is not complete; at the end it just is, unless it
 * ends at the next event or where no revolution exists. */
static void check_reach(struct ends *n, const struct loss *l, double distance, bool limited,
                        bool later) {
  enum {
    POINTS = 50
  };
  const double at_once =
      1e-7;                   /* no volume to trap air in: the piston moves as the square of this */
  const double found = 1e-10; /* how exactly an angle is [rad] */
  double sign = later ? 1 : -1, most = room(l->subject, l->end, l->event, later);
  ck_assert(distance >= 0 && distance <= most + 1e-12);
  if (isinf(loss_at(l, sign * at_once)) && distance < at_once && !limited) {
    n->impossible++;
    return;
  }
  for (int i = 1; i < POINTS; i++)
    ck_assert_double_le(loss_at(l, sign * distance * i / POINTS), 1 + 1e-8);
  if (limited) {
    ck_close(distance, most, 3e-9);
    ck_assert_double_le(loss_at(l, sign * distance), 1 + 1e-8);
    n->limited++;
  } else if (isinf(loss_at(l, sign * (distance + 1e-9)))) {
    n->impossible++;
  } else {
    /* to 1e-8 of the work or a hundredth of a pascal, or as near as angles are found */
    double steep = loss_at(l, sign * (distance + found)) - loss_at(l, sign * (distance - found));
    ck_close(loss_at(l, sign * distance), 1, 1e-6 + fabs(steep));
    n->lost++;
  }
}

static void check_tolerances(struct ends *work, struct ends *pressure, struct subject *s,
                             enum lb_end end, enum lb_varied event) {
  struct lb_tolerance of_work, of_pressure;
  struct lb_revolution r;
  ck_assert(turn(&r, s));
  ck_assert_int_eq(
      lb_sensitivity_tolerance(&of_work, &of_pressure, s->cycle, s->cutoff, end, event, NULL),
      LB_OK);
  struct loss l = {s, end, event, false, r.work_per_kg, r.end[end].turn.release_pressure};
  check_reach(work, &l, of_work.earlier, of_work.earlier_limited, false);
  check_reach(work, &l, of_work.later, of_work.later_limited, true);
  l.of_pressure = true;
  check_reach(pressure, &l, of_pressure.earlier, of_pressure.earlier_limited, false);
  check_reach(pressure, &l, of_pressure.later, of_pressure.later_limited, true);
}

START_TEST(tolerances_of_random_machines) {
  uint64_t state = 333;
  struct ends work = {0, 0, 0}, pressure = {0, 0, 0};
  struct subject s = {.cycle = lb_cycle_new()};
  for (int i = 0; i < support_times(300); i++) {
    struct lb_sensitivity row[LB_SENSITIVITIES];
    struct lb_revolution r;
    size_t count = next_subject(&s, row, &state);
    ck_assert(turn(&r, &s));
    for (size_t k = 0; k < count && r.work_per_kg > 0; k++)
      if (row[k].varied <= LB_VARIED_EXHAUST_CLOSES)
        check_tolerances(&work, &pressure, &s, row[k].end, row[k].varied);
  }
  lb_cycle_free(s.cycle);
  ck_assert_int_ge(work.limited, support_least(51));
  ck_assert_int_ge(work.lost, support_least(101));
  ck_assert_int_ge(pressure.limited, support_least(101));
  ck_assert_int_ge(pressure.lost, support_least(51));
}
END_TEST

/* A machine that gives no work has none to lose. */
START_TEST(no_tolerance_without_work) {
  uint64_t state = 334;
  struct subject s = {.cycle = lb_cycle_new()};
  struct lb_sensitivity row[LB_SENSITIVITIES];
  struct lb_tolerance work, pressure;
  struct lb_error error;
  next_subject(&s, row, &state);
  s.machine.friction = s.machine.supply_pressure * s.machine.bore * s.machine.bore;
  ck_assert_int_eq(lb_cycle_prepare(s.cycle, &s.machine, NULL), LB_OK);
  enum lb_end end = s.machine.works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
  ck_assert_int_eq(
      lb_sensitivity_tolerance(&work, &pressure, s.cycle, s.cutoff, end, LB_VARIED_CUTOFF, &error),
      LB_NO_ANSWER);
  ck_assert_str_eq(error.text, "the machine gives no work that could be lost");
  lb_cycle_free(s.cycle);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("sensitivity");
  TCase *cases = tcase_create("sensitivity");
  tcase_set_timeout(cases, 120);
  tcase_add_test(cases, derivatives_of_random_machines);
  tcase_add_test(cases, supply_acts_on_both_ends);
  tcase_add_test(cases, tolerances_of_random_machines);
  tcase_add_test(cases, no_tolerance_without_work);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
