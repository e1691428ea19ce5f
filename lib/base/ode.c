/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rosenbrock steps. With J = df/dy at the start of a step, every stage solves
 *
 *   (1/(gamma h) - J) k_i = f(t + alpha_i h, y + sum a_ij k_j) + sum c_ij k_j / h + gamma_i h f_t
 *
 * and the step ends at y + sum m_i k_i. The sums are further components whose columns of J are
 * empty. Their stages k = q + gamma c k with q_i = gamma h (g_i + gamma_i h g_t + g_y k_i) are
 * never formed: with w = gamma (1 - gamma c)^-T m, which depends on the method alone, a sum grows
 * by
 *
 *   h sum w_i g_i + h^2 g_t sum w_i gamma_i + h g_y sum w_i k_i
 *
 * and its error likewise, from the last stage in place of m. A repetition of a small system keeps J
 * as the run had it: its start differs so little that this errs by less than the steps do, and the
 * end becomes a smoother function of the start. lb_ode_excess tells when it does not.
 */
#include "base/ode.h"

#include "base/unroll.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
  FEW_STATES = 4, /* at most, of a system whose matrices are kept */
  STAGES = 6,
  SIZE_MOST = 256,
  STEPS_MOST = 1000000
};

/* The coefficients of RODAS, in the form that needs no products with J. Stages 5 and 6 build on the
 * result of the stage before, and the last stage is the estimate of the error. */
static const double gamma_ = 0.25;
static const double a[STAGES][STAGES] = {
    {0},
    {1.544},
    {0.9466785280815826, 0.2557011698983284},
    {3.314825187068521, 2.896124015972201, 0.9986419139977817},
    {1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950},
    {1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1},
};
static const double c[STAGES][STAGES] = {
    {0},
    {-5.6688},
    {-2.430093356833875, -0.2063599157091915},
    {-0.1073529058151375, -9.594562251023355, -20.47028614809616},
    {7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160},
    {8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136,
     -6.058818238834054},
};
static const double alpha[STAGES] = {0, 0.386, 0.21, 0.63, 1, 1};
static const double gamma_of[STAGES] = {0.25, -0.1043, 0.1035, -0.03620000000000023, 0, 0};

/* Control of the step: how much of what the error allows is used, and how much a step may change.
 * The error grows with the fourth power of the step. */
static const double caution = 0.9, shrink_most = 0.1, grow_most = 6, refused_shrink = 0.5,
                    hardly_any = 1e-4; /* [1] of what is allowed */

/* What a step solves with: factors of its matrix [states][states], slopes [size][states], slopes by
 * time [size], rows exchanged [states]. */
struct frame {
  double *matrix, *slope, *time_slope;
  size_t *pivot;
};

struct lb_ode {
  size_t states, sums, size;
  double *memory;                            /* what follows lies in it */
  double *error, *next, *inverse;            /* [size]; the last: of what a step may err by */
  double *rate;                              /* [STAGES][size] */
  double *stage_state, *blend, *error_blend; /* [states] */
  double *k;                                 /* [STAGES][states] */
  double *turn, *next_turn, *turn_k;         /* [states][states], the last [STAGES] of them */
  double *own;                               /* room for the frame of a run */
  size_t *own_pivot;
  struct frame frame; /* of the step that is taken: in `own`, or one that was kept */
  double *time;       /* time[steps + 1], room for `room` */
  size_t *segment;    /* segment[steps]: between which stops a step lies */
  double *kept;       /* frames of the steps of the last run, of a small system */
  size_t *kept_pivot; /* likewise */
  size_t steps, refused, room;
  double excess;                               /* greatest of the last repetition */
  double weight[STAGES], error_weight[STAGES]; /* of the stages in a sum and in its error */
  double of_time, error_of_time;               /* of the slopes by time likewise */
  void (*see)(double time, const double *state, void *notes); /* or NULL */
  void *notes;
};

/* Numbers in a frame, pivots left out. */
static size_t frame_size(const struct lb_ode *ode) {
  return ode->states * ode->states + ode->size * (ode->states + 1);
}

/* A frame in some memory. */
static struct frame frame_in(const struct lb_ode *ode, double *memory, size_t *pivot) {
  size_t n = ode->states;
  return (struct frame){memory, memory + n * n, memory + n * n + ode->size * n, pivot};
}

/* Whether the frames of a run are kept for its repetitions. */
static bool keeps_frames(const struct lb_ode *ode) {
  return ode->states <= FEW_STATES;
}

/* The weights of the stages in a sum, w above: the last stage enters with 1, which is the error. */
static void set_weights(double *weight, double *error_weight) {
  for (size_t i = STAGES; i-- > 0;) {
    double sum = i == STAGES - 1 ? 1 : a[STAGES - 1][i], last = i == STAGES - 1;
    for (size_t j = i + 1; j < STAGES; j++) {
      sum += c[j][i] * weight[j];
      last += c[j][i] * error_weight[j];
    }
    weight[i] = gamma_ * sum;
    error_weight[i] = gamma_ * last;
  }
}

struct lb_ode *lb_ode_new(size_t states, size_t sums) {
  if (states < 1 || sums < 1 || states + sums > SIZE_MOST)
    return NULL;
  size_t size = states + sums, square = states * states;
  size_t doubles = (3 + STAGES + states + 1) * size + (3 + STAGES) * states + square * (3 + STAGES);
  struct lb_ode *ode = calloc(1, sizeof *ode);
  double *memory = calloc(doubles, sizeof *memory);
  size_t *pivot = calloc(states, sizeof *pivot);
  if (!ode || !memory || !pivot) {
    free(ode);
    free(memory);
    free(pivot);
    return NULL;
  }
  *ode = (struct lb_ode){.states = states, .sums = sums, .size = size, .memory = memory};
  double **vector[] = {&ode->error, &ode->next, &ode->inverse};
  for (size_t i = 0; i < sizeof vector / sizeof vector[0]; i++, memory += size)
    *vector[i] = memory;
  ode->rate = memory;
  ode->stage_state = ode->rate + STAGES * size;
  ode->blend = ode->stage_state + states;
  ode->error_blend = ode->blend + states;
  ode->k = ode->error_blend + states;
  ode->turn = ode->k + STAGES * states;
  ode->next_turn = ode->turn + square;
  ode->turn_k = ode->next_turn + square;
  ode->own = ode->turn_k + STAGES * square;
  ode->own_pivot = pivot;
  set_weights(ode->weight, ode->error_weight);
  for (size_t stage = 0; stage < STAGES; stage++) {
    ode->of_time += ode->weight[stage] * gamma_of[stage];
    ode->error_of_time += ode->error_weight[stage] * gamma_of[stage];
  }
  return ode;
}

void lb_ode_free(struct lb_ode *ode) {
  if (!ode)
    return;
  free(ode->memory);
  free(ode->own_pivot);
  free(ode->time);
  free(ode->segment);
  free(ode->kept);
  free(ode->kept_pivot);
  free(ode);
}

/* Replace the matrix by its factors L and U, rows exchanged. Returns false when it is singular. */
LB_UNROLLED bool factorise(double *matrix, size_t *pivot, size_t n) {
  for (size_t i = 0; i < n; i++) {
    size_t best = i;
    for (size_t row = i + 1; row < n; row++)
      if (fabs(matrix[row * n + i]) > fabs(matrix[best * n + i]))
        best = row;
    pivot[i] = best;
    if (!(fabs(matrix[best * n + i]) > 0))
      return false;
    for (size_t column = 0; best != i && column < n; column++) {
      double swap = matrix[i * n + column];
      matrix[i * n + column] = matrix[best * n + column];
      matrix[best * n + column] = swap;
    }
    double inverse = 1 / matrix[i * n + i];
    matrix[i * n + i] = inverse;
    for (size_t row = i + 1; row < n; row++) {
      double factor = matrix[row * n + i] *= inverse;
      if (factor == 0)
        continue; /* many are, where chambers meet only through a receiver */
      for (size_t column = i + 1; column < n; column++)
        matrix[row * n + column] -= factor * matrix[i * n + column];
    }
  }
  return true;
}

/* Solve for a right-hand side, in place. */
LB_UNROLLED void solve(const double *matrix, const size_t *pivot, size_t n, double *x) {
  for (size_t i = 0; i < n; i++) {
    double swap = x[pivot[i]];
    x[pivot[i]] = x[i];
    x[i] = swap;
  }
  for (size_t i = 1; i < n; i++)
    for (size_t column = 0; column < i; column++)
      x[i] -= matrix[i * n + column] * x[column];
  for (size_t i = n; i-- > 0;) {
    for (size_t column = i + 1; column < n; column++)
      x[i] -= matrix[i * n + column] * x[column];
    x[i] *= matrix[i * n + i];
  }
}

/* sum over the stages before one of weight[j] k[j][i] */
LB_UNROLLED double blend(const double *weight, const double *k, size_t stage, size_t size,
                         size_t i) {
  double sum = 0;
  for (size_t j = 0; j < stage; j++)
    sum += weight[j] * k[j * size + i];
  return sum;
}

/* How large a system is; where it is known to the compiler, it unrolls the loops. */
struct extent {
  size_t states, size;
};

/* Rates, slopes and matrix at the start of a step; from a kept frame the rates alone. Returns false
 * when the matrix is singular. */
LB_UNROLLED bool begin_step(struct lb_ode *ode, const struct lb_ode_problem *problem, double time,
                            double h, size_t segment, const double *state, struct extent e) {
  const double inverse = 1 / (gamma_ * h);
  const struct frame *f = &ode->frame;
  size_t n = e.states;
  if (f->matrix != ode->own) {
    problem->rates(ode->rate, time, segment, state, problem->context);
    return true;
  }
  problem->slopes(ode->rate, f->slope, f->time_slope, time, segment, state, problem->context);
  for (size_t i = 0; i < n; i++)
    for (size_t j = 0; j < n; j++)
      f->matrix[i * n + j] = (i == j ? inverse : 0) - f->slope[i * n + j];
  return factorise(f->matrix, f->pivot, n);
}

/* One stage of the states from its rates. */
LB_UNROLLED void take_stage(struct lb_ode *ode, size_t stage, double h, double per_h,
                            struct extent e) {
  size_t n = e.states;
  double *k = ode->k + stage * n;
  const double *rate = ode->rate + stage * e.size;
  for (size_t i = 0; i < n; i++)
    k[i] = rate[i] + blend(c[stage], ode->k, stage, n, i) * per_h +
           h * gamma_of[stage] * ode->frame.time_slope[i];
  solve(ode->frame.matrix, ode->frame.pivot, n, k);
}

/* The sums after a step, and their errors. */
LB_UNROLLED void add_sums(struct lb_ode *ode, double h, const double *y, struct extent e) {
  size_t n = e.states;
  for (size_t i = 0; i < n; i++) {
    ode->blend[i] = blend(ode->weight, ode->k, STAGES, n, i);
    ode->error_blend[i] = blend(ode->error_weight, ode->k, STAGES, n, i);
  }
  for (size_t i = n; i < e.size; i++) {
    double sum = blend(ode->weight, ode->rate, STAGES, e.size, i) +
                 h * ode->of_time * ode->frame.time_slope[i];
    double error = blend(ode->error_weight, ode->rate, STAGES, e.size, i) +
                   h * ode->error_of_time * ode->frame.time_slope[i];
    for (size_t j = 0; j < n; j++) {
      sum += ode->frame.slope[i * n + j] * ode->blend[j];
      error += ode->frame.slope[i * n + j] * ode->error_blend[j];
    }
    ode->next[i] = y[i] + h * sum;
    ode->error[i] = h * error;
  }
}

LB_UNROLLED bool step_of(struct lb_ode *ode, const struct lb_ode_problem *problem, double time,
                         double h, size_t segment, const double *y, struct extent e) {
  const double per_h = 1 / h;
  if (!begin_step(ode, problem, time, h, segment, y, e))
    return false;
  take_stage(ode, 0, h, per_h, e);
  for (size_t stage = 1; stage < STAGES; stage++) {
    for (size_t i = 0; i < e.states; i++)
      ode->stage_state[i] = y[i] + blend(a[stage], ode->k, stage, e.states, i);
    problem->rates(ode->rate + stage * e.size, time + alpha[stage] * h, segment, ode->stage_state,
                   problem->context);
    take_stage(ode, stage, h, per_h, e);
  }
  const double *last = ode->k + (STAGES - 1) * e.states;
  for (size_t i = 0; i < e.states; i++) {
    ode->error[i] = last[i];
    ode->next[i] = ode->stage_state[i] + last[i];
  }
  add_sums(ode, h, y, e);
  return problem->possible(ode->next, problem->context);
}

/* A step from y[size] to ode->next, with its error in ode->error. Returns false when a state comes
 * out on the way that cannot exist. A chamber alone, with its sums, is by far the most common
 * system. */
static bool take_step(struct lb_ode *ode, const struct lb_ode_problem *problem, double time,
                      double h, size_t segment, const double *y) {
  const struct extent chamber = {2, 5};
  if (ode->states == chamber.states && ode->size == chamber.size)
    return step_of(ode, problem, time, h, segment, y, chamber);
  return step_of(ode, problem, time, h, segment, y, (struct extent){ode->states, ode->size});
}

/* row -= factor * other, over n numbers; many factors are 0, where chambers meet only through a
 * receiver. */
LB_UNROLLED void subtract(double *row, double factor, const double *other, size_t n) {
  if (factor == 0)
    return;
  for (size_t i = 0; i < n; i++)
    row[i] -= factor * other[i];
}

/* Solve for n right-hand sides at once, the columns of x[n][n], in place. */
LB_UNROLLED void solve_all(const struct frame *f, size_t n, double *x) {
  for (size_t i = 0; i < n; i++)
    for (size_t column = 0; f->pivot[i] != i && column < n; column++) {
      double swap = x[f->pivot[i] * n + column];
      x[f->pivot[i] * n + column] = x[i * n + column];
      x[i * n + column] = swap;
    }
  for (size_t i = 1; i < n; i++)
    for (size_t j = 0; j < i; j++)
      subtract(x + i * n, f->matrix[i * n + j], x + j * n, n);
  for (size_t i = n; i-- > 0;) {
    for (size_t j = i + 1; j < n; j++)
      subtract(x + i * n, f->matrix[i * n + j], x + j * n, n);
    for (size_t column = 0; column < n; column++)
      x[i * n + column] *= f->matrix[i * n + i];
  }
}

/* The same step for small changes of the start, turn = d(y)/d(start), with J frozen. */
LB_UNROLLED void turn_of(struct lb_ode *ode, double h, size_t n) {
  const double per_h = 1 / h;
  size_t square = n * n;
  for (size_t stage = 0; stage < STAGES; stage++) {
    double *k = ode->turn_k + stage * square;
    for (size_t i = 0; i < square; i++) {
      ode->next_turn[i] = ode->turn[i] + blend(a[stage], ode->turn_k, stage, square, i);
      k[i] = blend(c[stage], ode->turn_k, stage, square, i) * per_h;
    }
    for (size_t row = 0; row < n; row++)
      for (size_t j = 0; j < n; j++)
        subtract(k + row * n, -ode->frame.slope[row * n + j], ode->next_turn + j * n, n);
    solve_all(&ode->frame, n, k);
  }
  for (size_t i = 0; i < square; i++)
    ode->turn[i] = ode->next_turn[i] + ode->turn_k[(STAGES - 1) * square + i];
}

static void turn_step(struct lb_ode *ode, double h) {
  if (ode->states == 2)
    turn_of(ode, h, 2);
  else
    turn_of(ode, h, ode->states);
}

/* The greatest error of a step as a share of what is allowed. */
static double excess(const struct lb_ode *ode) {
  double greatest = 0;
  for (size_t i = 0; i < ode->size; i++) {
    double share = fabs(ode->error[i]) * ode->inverse[i];
    if (!(share < (double)INFINITY))
      return (double)INFINITY;
    greatest = fmax(greatest, share);
  }
  return greatest;
}

/* Make an array as long as `count`; it stays as it is when memory runs out. */
static bool lengthen(void **array, size_t count, size_t size) {
  void *longer = realloc(*array, count * size);
  if (longer)
    *array = longer;
  return longer;
}

/* Room for one more step. */
static enum lb_status reserve(struct lb_ode *ode, struct lb_error *error) {
  const size_t first = 1024;
  if (ode->steps + 2 <= ode->room)
    return LB_OK;
  size_t room = ode->room ? 2 * ode->room : first;
  void *time = ode->time, *segment = ode->segment, *kept = ode->kept, *pivot = ode->kept_pivot;
  bool done =
      lengthen(&time, room, sizeof *ode->time) && lengthen(&segment, room, sizeof *ode->segment);
  if (done && keeps_frames(ode))
    done = lengthen(&kept, room * frame_size(ode), sizeof *ode->kept) &&
           lengthen(&pivot, room * ode->states, sizeof *ode->kept_pivot);
  ode->time = time;
  ode->segment = segment;
  ode->kept = kept;
  ode->kept_pivot = pivot;
  if (!done)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for %zu steps", room);
  ode->room = room;
  return LB_OK;
}

/* Keep the frame of the step that was taken. */
static void keep_frame(struct lb_ode *ode) {
  size_t count = frame_size(ode), n = ode->states;
  if (!keeps_frames(ode))
    return;
  memcpy(ode->kept + ode->steps * count, ode->own, count * sizeof *ode->kept);
  memcpy(ode->kept_pivot + ode->steps * n, ode->own_pivot, n * sizeof *ode->kept_pivot);
}

/* Add a step to the mesh and go to its end. */
static enum lb_status accept(struct lb_ode *ode, double end, size_t segment, double h, bool turning,
                             double *y, struct lb_error *error) {
  enum lb_status status = reserve(ode, error);
  if (status != LB_OK)
    return status;
  keep_frame(ode);
  ode->segment[ode->steps++] = segment;
  ode->time[ode->steps] = end;
  memcpy(y, ode->next, ode->size * sizeof *y);
  if (ode->see)
    ode->see(end, y, ode->notes);
  if (turning)
    turn_step(ode, h);
  return LB_OK;
}

/* How much longer the next step may be if the error goes on as it has from the step before: it
 * saves many steps that would have to be taken back (Gustafsson's control). */
static double expected(double longer, double over, double over_before) {
  return caution * longer * sqrt(sqrt(over_before / (over * over)));
}

/* From one stop to the next.
 * h  in: the step to begin with; out: the one to go on with */
static enum lb_status run_segment(struct lb_ode *ode, const struct lb_ode_problem *problem,
                                  size_t segment, double from, double to, double *h, double *y,
                                  bool turning, struct lb_error *error) {
  const double rounding = 4 * DBL_EPSILON * fmax(fabs(from), fabs(to));
  enum lb_status status = LB_OK;
  double step_before = 0, over_before = 0;
  for (double time = from; to - time > rounding && status == LB_OK;) {
    bool last = *h >= (to - time) * (1 - DBL_EPSILON);
    double end = last ? to : time + *h, step = end - time; /* as a repetition will see it */
    if (step <= rounding || ode->steps + ode->refused > STEPS_MOST)
      return lb_error_set(error, LB_NUMERIC, "steps of %g do not do at %g", step, time);
    bool sound = take_step(ode, problem, time, step, segment, y);
    double over = sound ? excess(ode) : (double)INFINITY;
    double factor = over > 0 ? caution / sqrt(sqrt(over)) : grow_most;
    if (over <= 1) {
      status = accept(ode, end, segment, step, turning, y, error);
      time = ode->time[ode->steps];
      over = fmax(over, hardly_any);
      if (step_before > 0)
        factor = fmin(factor, expected(step / step_before, over, over_before));
      step_before = step;
      over_before = over;
      factor = fmin(fmax(factor, shrink_most), grow_most);
      *h = last && factor > 1 ? fmax(*h, step * factor) : step * factor;
    } else {
      ode->refused++;
      *h = step * fmin(fmax(isfinite(over) ? factor : 0, shrink_most), refused_shrink);
    }
  }
  return status;
}

static void begin_run(struct lb_ode *ode, const struct lb_ode_problem *problem, double start,
                      const double *state, double *y) {
  size_t n = ode->states;
  ode->frame = frame_in(ode, ode->own, ode->own_pivot);
  for (size_t i = 0; i < ode->size; i++)
    ode->inverse[i] = 1 / (problem->tolerance * problem->scale[i]);
  memcpy(y, state, n * sizeof *y);
  memset(y + n, 0, ode->sums * sizeof *y);
  for (size_t i = 0; i < n * n; i++)
    ode->turn[i] = i % (n + 1) == 0;
  if (ode->see)
    ode->see(start, y, ode->notes);
}

static void end_run(const struct lb_ode *ode, const double *y, double *state, double *sum,
                    double *sensitivity) {
  size_t n = ode->states;
  memcpy(state, y, n * sizeof *state);
  memcpy(sum, y + n, ode->sums * sizeof *sum);
  if (sensitivity)
    memcpy(sensitivity, ode->turn, n * n * sizeof *sensitivity);
}

enum lb_status lb_ode_run(struct lb_ode *ode, const struct lb_ode_problem *problem, double *state,
                          double *sum, double *sensitivity, const double *stop, size_t stops,
                          struct lb_error *error) {
  const double first = 3e-3, steep = 3e-3; /* [1] of the run: steps to begin with */
  double y[SIZE_MOST], span = stop[stops - 1] - stop[0], h = first * span;
  begin_run(ode, problem, stop[0], state, y);
  ode->steps = ode->refused = 0;
  enum lb_status status = reserve(ode, error);
  if (status == LB_OK)
    ode->time[0] = stop[0];
  for (size_t i = 0; i + 1 < stops && status == LB_OK; i++) {
    ode->time[ode->steps] = stop[i]; /* not the stop before, where two nearly coincide */
    status = run_segment(ode, problem, i, stop[i], stop[i + 1], &h, y, sensitivity != NULL, error);
    h = fmin(h, steep * span);
  }
  if (status == LB_OK)
    end_run(ode, y, state, sum, sensitivity);
  else
    ode->steps = 0;
  return status;
}

enum lb_status lb_ode_repeat(struct lb_ode *ode, const struct lb_ode_problem *problem,
                             double *state, double *sum, double *sensitivity,
                             struct lb_error *error) {
  double y[SIZE_MOST];
  if (ode->steps == 0)
    return lb_error_set(error, LB_NUMERIC, "no run to repeat");
  begin_run(ode, problem, ode->time[0], state, y);
  ode->excess = 0;
  for (size_t i = 0; i < ode->steps; i++) {
    double step = ode->time[i + 1] - ode->time[i];
    if (keeps_frames(ode))
      ode->frame =
          frame_in(ode, ode->kept + i * frame_size(ode), ode->kept_pivot + i * ode->states);
    if (!take_step(ode, problem, ode->time[i], step, ode->segment[i], y))
      return lb_error_set(error, LB_NUMERIC, "no state can be at %g", ode->time[i + 1]);
    ode->excess = fmax(ode->excess, excess(ode));
    memcpy(y, ode->next, ode->size * sizeof *y);
    if (ode->see)
      ode->see(ode->time[i + 1], y, ode->notes);
    if (sensitivity)
      turn_step(ode, step);
  }
  end_run(ode, y, state, sum, sensitivity);
  return LB_OK;
}

void lb_ode_observe(struct lb_ode *ode, void (*see)(double time, const double *state, void *notes),
                    void *notes) {
  ode->see = see;
  ode->notes = notes;
}

size_t lb_ode_steps(const struct lb_ode *ode) {
  return ode->steps;
}

size_t lb_ode_refused(const struct lb_ode *ode) {
  return ode->refused;
}

double lb_ode_excess(const struct lb_ode *ode) {
  return ode->excess;
}

const double *lb_ode_mesh(const struct lb_ode *ode) {
  return ode->time;
}
