/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cycles at speed as a table, for searches: a cycle at speed takes a millisecond, and a search
 * asks for tens of thousands.
 *
 * Each end's work and air stand over the supply pressure and the cut-off, both ends cut off at the
 * same share of their windows while the table is made. An end's figures then do not depend on the
 * other end's cut-off, which is so but for leaks past the piston and a receiver; friction is shared
 * out evenly. A run is calculated with true cycles: what the map leaves out costs a search a little
 * of its optimum, and no figure.
 */
#include "duty/rundown_parts.h"

#include "stroke/timing.h"

#include <math.h>
#include <stdlib.h>

enum {
  PRESSURES = 14, /* at most, as are the next two */
  CUTOFFS = 22,
  NODES = PRESSURES * CUTOFFS,
  COARSE_PRESSURES = 8,
  COARSE_CUTOFFS = 13,
  MOST_LOOKS = 512, /* cut-offs from which that of the most work is taken */
  PROOFS_EACH = 2,  /* cycles between nodes, for each pressure, by which the map is judged */
  PROOF_STRIDE = 8  /* in cut-offs from one to the next, so that they lie all over the map */
};

/* The early cut-offs, within the ramps of the valve, stand closer. */
static const double crowding = 1.7;

struct lb_engine_map {
  int pressures, cutoffs;
  double pressure[PRESSURES];  /* [Pa absolute] rising */
  double share[CUTOFFS];       /* [1] of the windows, 0 ... 1 */
  double error;                /* [J] of work, greatest found between nodes */
  double work[LB_ENDS][NODES]; /* [J] of all cylinders, after friction; [cutoff][pressure] */
  double air[LB_ENDS][NODES];  /* [kg] */
  struct lb_surface *work_surface[LB_ENDS], *air_surface[LB_ENDS];
  double most[LB_ENDS][PRESSURES]; /* [1] share of the windows with the most work, by pressure */
};

void lb_engine_map_free(struct lb_engine_map *map) {
  if (!map)
    return;
  for (int end = 0; end < LB_ENDS; end++) {
    lb_surface_free(map->work_surface[end]);
    lb_surface_free(map->air_surface[end]);
  }
  free(map);
}

/* A cycle with both ends cut off at a share of their windows. */
static enum lb_status turn_at(struct lb_running *running, struct lb_engine *e, double pressure,
                              double share, struct lb_error *error) {
  struct lb_machine *m = &e->machine;
  double given[LB_ENDS] = {0};
  for (int i = 0; i < LB_ENDS; i++)
    if (m->works[i])
      given[i] = e->low[i] + share * (e->high[i] - e->low[i]) -
                 lb_timing_lag(m, (enum lb_end)i, LB_VARIED_CUTOFF, e->speed);
  m->supply_pressure = pressure;
  m->supply_temperature = e->look_temperature;
  return lb_running_turn(running, e->gas, m, given, e->speed, false, error);
}

/* Calculate one node. */
static enum lb_status calculate(struct lb_engine_map *map, struct lb_engine *e, int pressure,
                                int share, struct lb_error *error) {
  const struct lb_machine *m = &e->machine;
  struct lb_running r;
  int ends = m->works[LB_CAP_END] + m->works[LB_ROD_END];
  enum lb_status status = turn_at(&r, e, map->pressure[pressure], map->share[share], error);
  if (status != LB_OK)
    return status;
  int node = share * map->pressures + pressure;
  for (int i = 0; i < LB_ENDS; i++) {
    map->work[i][node] =
        m->cylinders * r.revolution.end[i].turn.work - r.revolution.friction_work / ends;
    map->air[i][node] = m->cylinders * r.revolution.end[i].turn.air;
  }
  return LB_OK;
}

/* All nodes. */
static enum lb_status calculate_all(struct lb_engine_map *map, struct lb_engine *e, double lowest,
                                    double highest, struct lb_error *error) {
  enum lb_status status = LB_OK;
  for (int i = 0; i < map->pressures; i++)
    map->pressure[i] = lowest * pow(highest / lowest, (double)i / (map->pressures - 1));
  map->pressure[map->pressures - 1] = highest;
  for (int i = 0; i < map->cutoffs; i++)
    map->share[i] = pow((double)i / (map->cutoffs - 1), crowding);
  for (int i = 0; i < map->pressures * map->cutoffs && status == LB_OK; i++)
    status = calculate(map, e, i % map->pressures, i / map->pressures, error);
  return status;
}

static enum lb_status make_surfaces(struct lb_engine_map *map, const struct lb_engine *e,
                                    struct lb_error *error) {
  for (int i = 0; i < LB_ENDS; i++) {
    if (!e->machine.works[i])
      continue;
    map->work_surface[i] = lb_surface_new(map->pressure, (size_t)map->pressures, map->share,
                                          (size_t)map->cutoffs, map->work[i]);
    map->air_surface[i] = lb_surface_new(map->pressure, (size_t)map->pressures, map->share,
                                         (size_t)map->cutoffs, map->air[i]);
    if (!map->work_surface[i] || !map->air_surface[i])
      return lb_error_set(error, LB_NO_MEMORY, "no memory for a table of cycles");
  }
  return LB_OK;
}

/* The share of an end's window with the most work at a pressure [Pa absolute]. */
static double share_of_most(const struct lb_engine_map *map, int end, double pressure) {
  double best = -(double)INFINITY, at = 1;
  for (int i = 0; i <= MOST_LOOKS; i++) {
    double share = (double)i / MOST_LOOKS;
    double work = lb_surface_value(map->work_surface[end], pressure, share);
    if (work > best) {
      best = work;
      at = share;
    }
  }
  return at;
}

static void find_most(struct lb_engine_map *map, const struct lb_engine *e) {
  for (int end = 0; end < LB_ENDS; end++)
    for (int i = 0; e->machine.works[end] && i < map->pressures; i++)
      map->most[end][i] = share_of_most(map, end, map->pressure[i]);
}

/* Find out by how much the map errs, between its nodes. */
static enum lb_status prove(struct lb_engine *e, struct lb_error *error) {
  struct lb_engine_map *map = e->map;
  for (int i = 0; i < map->pressures * PROOFS_EACH; i++) {
    struct lb_running r;
    double cutoff[LB_ENDS] = {0}, work, air, middle = 0.5;
    int p = i / PROOFS_EACH % (map->pressures - 1), s = (i * PROOF_STRIDE) % (map->cutoffs - 1);
    double pressure = (map->pressure[p] + map->pressure[p + 1]) / 2;
    double share = map->share[s] + middle * (map->share[s + 1] - map->share[s]);
    for (int end = 0; end < LB_ENDS; end++)
      cutoff[end] = e->low[end] + share * (e->high[end] - e->low[end]);
    enum lb_status status = turn_at(&r, e, pressure, share, error);
    if (status != LB_OK)
      return status;
    lb_engine_map_look(&work, &air, e, pressure, cutoff);
    double miss = fabs(work - r.revolution.work);
    if (!(miss <= map->error)) /* what is no number counts, too */
      map->error = miss;
  }
  return LB_OK;
}

double lb_engine_map_error(const struct lb_engine *engine) {
  return engine->map ? engine->map->error : 0;
}

enum lb_status lb_engine_map_make(struct lb_engine *engine, double lowest, double highest,
                                  bool coarse, struct lb_error *error) {
  if (!engine->gas || !(highest > lowest))
    return LB_OK;
  struct lb_engine_map *map = calloc(1, sizeof *map);
  if (!map)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for a table of cycles");
  map->pressures = coarse ? COARSE_PRESSURES : PRESSURES;
  map->cutoffs = coarse ? COARSE_CUTOFFS : CUTOFFS;
  enum lb_status status = calculate_all(map, engine, lowest, highest, error);
  if (status == LB_OK)
    status = make_surfaces(map, engine, error);
  if (status != LB_OK) {
    lb_engine_map_free(map);
    return status;
  }
  find_most(map, engine);
  lb_engine_map_free(engine->map);
  engine->map = map;
  return prove(engine, error);
}

void lb_engine_map_most(double *cutoff, const struct lb_engine *engine, double pressure) {
  const struct lb_engine_map *map = engine->map;
  int i = 0;
  while (i + 2 < map->pressures && map->pressure[i + 1] < pressure)
    i++;
  double share = (pressure - map->pressure[i]) / (map->pressure[i + 1] - map->pressure[i]);
  share = fmin(fmax(share, 0), 1);
  for (int end = 0; end < LB_ENDS; end++) {
    double most = map->most[end][i] + share * (map->most[end][i + 1] - map->most[end][i]);
    cutoff[end] = engine->low[end] + most * (engine->high[end] - engine->low[end]);
  }
}

void lb_engine_map_look(double *work, double *air, const struct lb_engine *engine, double pressure,
                        const double *cutoff) {
  const struct lb_engine_map *map = engine->map;
  *work = *air = map ? 0 : (double)NAN;
  if (!map)
    return;
  double p = fmin(fmax(pressure, map->pressure[0]), map->pressure[map->pressures - 1]);
  for (int i = 0; i < LB_ENDS; i++) {
    if (!engine->machine.works[i])
      continue;
    double share = (cutoff[i] - engine->low[i]) / (engine->high[i] - engine->low[i]);
    share = fmin(fmax(share, 0), 1);
    *work += lb_surface_value(map->work_surface[i], p, share);
    *air += lb_surface_value(map->air_surface[i], p, share);
  }
}
