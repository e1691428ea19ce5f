/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An answer about running a store down, made up by hand.
 */
#include "rundown_maker.h"

#include "base/constants.h"
#include "machine_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double ambient = RUNDOWN_MAKER_AMBIENT;

/* Figures of a run that grow with k, so that no two are alike. */
static void fill_run(struct lb_run *run, int k) {
  run->ran = true;
  run->cutoff[LB_CAP_END] = (40 + k) * LB_DEGREE;
  run->cutoff[LB_ROD_END] = (50.5 + k) * LB_DEGREE;
  run->ended = LB_RUN_LOAD;
  run->powered_revolutions = 1000 + k;
  run->revolutions = 2000 + k;
  run->powered_distance = 500 + k;
  run->distance = 1000 + k;
  run->duration = 60 * (10 + k);
  run->work = 90e3 + 1e3 * k;
  run->useful_work = 80e3 - 1e3 * k;
  run->air_used = 1.185 * (1 + 0.1 * k);
  run->air_left = 1.185 * (0.9 - 0.11 * k);
  run->end_pressure = ambient + 1e5 * (2 + k);
  run->end_temperature = 260 + k;
  run->warmed_pressure = ambient + 1e5 * (2.5 + k);
  run->peak_pin_force = 2000 + k;
  run->coldest_gas = 193.15 + k;
  run->coldest_tank = 243.15 + k;
  run->coldest_supply = 223.15 + k;
  run->books = (struct lb_run_books){.start = 200e3,
                                     .end = 20e3,
                                     .crank = 80e3 + 1e3 * k,
                                     .friction = 10e3,
                                     .inlet = 10, /* what is less than 100 J is not printed */
                                     .filling = 4e3,
                                     .pushed_back = 20,
                                     .release = 30e3 - 1e3 * k,
                                     .heat = 30,
                                     .leakage = -15,
                                     .exhaust = 40e3,
                                     .regulator = k <= RUNDOWN_MAKER_BEST ? 24e3 : 0,
                                     .pipe = k <= RUNDOWN_MAKER_BEST ? -2e3 : 0,
                                     .ideal = k <= RUNDOWN_MAKER_BEST ? -6e3 : 16e3,
                                     .store_walls = -25,
                                     .store_leak = -20};
  run->points = 2;
  for (int i = 0; i < 2; i++)
    run->point[i] = (struct lb_run_point){.tank_pressure = (200 - 90 * i + k) * 1e5,
                                          .cutoff = {(30 + i) * LB_DEGREE, (35 + i) * LB_DEGREE},
                                          .mean_torque = 9 - i,
                                          .distance = 100 * i,
                                          .duration = 50 * i,
                                          .revolutions = 1000 * i};
}

static void fill_runs(struct lb_rundown *r) {
  static const enum lb_plan plan[RUNDOWN_MAKER_RUNS] = {LB_PLAN_UNREGULATED,    LB_PLAN_REGULATED,
                                                        LB_PLAN_REGULATED_BEST, LB_PLAN_STEPPED,
                                                        LB_PLAN_STEPPED,        LB_PLAN_FOLLOWING};
  r->runs = RUNDOWN_MAKER_RUNS;
  for (int k = 0; k < RUNDOWN_MAKER_RUNS; k++) {
    r->run[k].plan = plan[k];
    fill_run(&r->run[k], k);
  }
  r->run[0].ran = false;
  strcpy(r->run[0].why, "the store is above 10.00 bar gauge (145.0 psig); regulate it");
  r->run[RUNDOWN_MAKER_REGULATED].set_pressure = ambient + 3.6e5;
  r->run[RUNDOWN_MAKER_BEST].set_pressure = ambient + 4.2e5;
  r->run[RUNDOWN_MAKER_BEST].ended = LB_RUN_LOWEST;
  for (int k = RUNDOWN_MAKER_TWO; k <= RUNDOWN_MAKER_THREE; k++) {
    r->run[k].steps = r->run[k].positions = k - 1;
    for (int i = 0; i < r->run[k].steps; i++)
      r->run[k].position[i] =
          (struct lb_position){{(20 + 10 * i) * LB_DEGREE, (25 + 10 * i) * LB_DEGREE},
                               ambient + 1e5 * (100 / (i + 1)),
                               ambient + 1e5 * (100 / (i + 2))};
  }
}

static void fill_verdict(struct lb_verdict *v) {
  *v = (struct lb_verdict){.winner = RUNDOWN_MAKER_FOLLOWING,
                           .compared = true,
                           .rival = RUNDOWN_MAKER_BEST,
                           .margin = 0.312};
  for (int i = 0; i <= LB_STEPS_MOST; i++)
    v->step_share[i] = (double)NAN;
  v->step_share[2] = 0.78;
  v->step_share[3] = 0.906;
  v->flip[LB_KNOB_DEAD_VOLUME] = (struct lb_flip){true, 2.4, 0.25, 4};
  v->flip[LB_KNOB_LOAD] = (struct lb_flip){false, 0, 0.5, 2};
  v->flip[LB_KNOB_START_PRESSURE] = (struct lb_flip){false, 0, ambient + 20e5, ambient + 300e5};
}

struct rundown_maker rundown_maker_new(void) {
  struct rundown_maker e = {.machine = machine_text_demo(MACHINE_TEXT_TROLLEY)};
  e.machine.ambient_pressure = e.machine.back_pressure = ambient;
  e.machine.store = (struct lb_store){.given = true,
                                      .volume = 0.01,
                                      .start_pressure = ambient + 200e5,
                                      .lowest_pressure = ambient + 1e5,
                                      .temperature = 293.15,
                                      .heat = LB_STORE_ADIABATIC,
                                      .vessel_mass = 12.5};
  e.machine.regulator = (struct lb_regulator){
      .given = true, .set_pressure = ambient + 3.6e5, .least_difference = 0.5e5};
  e.machine.load.coasting = LB_COASTING_FREEWHEEL;
  e.rundown = calloc(1, sizeof *e.rundown);
  e.rundown->speed = 120 * LB_RPM;
  e.rundown->start_mass = 2.37; /* 2000 L ANR */
  e.rundown->start_worth = 200e3;
  e.rundown->demand = (struct lb_demand){.torque = 4.2,
                                         .standing_torque = 4,
                                         .work = 26.4,
                                         .distance = 0.502,
                                         .vehicle_speed = 5,
                                         .rolling = 30,
                                         .climbing = 7,
                                         .drag = 2,
                                         .motoring_work = 2.8};
  fill_runs(e.rundown);
  fill_verdict(&e.rundown->verdict);
  e.rundown->starts = true;
  e.rundown->standing =
      (struct lb_starting_supply){true, ambient + 2e5, true, ambient + 0.9e5, 78 * LB_DEGREE};
  e.rundown->running_found = true;
  e.rundown->running = ambient + 0.7e5;
  return e;
}

void rundown_maker_free(struct rundown_maker *maker) {
  free(maker->rundown);
}

const struct lb_rundown_paper *rundown_maker_paper(struct rundown_maker *maker) {
  maker->paper.machine = &maker->machine;
  maker->paper.rundown = maker->rundown;
  return &maker->paper;
}
