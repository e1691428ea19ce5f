/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Valves and tube in series, the room in a rated store, a vehicle as a torque. Everything is
 * derived afresh from what is stated, so that doing it twice changes nothing.
 */
#include "machine/complete.h"

#include "base/constants.h"
#include "base/numeric.h"
#include "physics/conductance.h"
#include "physics/real_air.h"
#include "physics/tube.h"

#include <math.h>
#include <stdbool.h>

/* A law with another index that passes the same nominal flow. */
static struct lb_flow with_index(struct lb_flow flow, double index) {
  struct lb_flow unit = {1, flow.critical_ratio, index};
  double nominal = lb_conductance_nominal(&flow);
  return (struct lb_flow){nominal / lb_conductance_nominal(&unit), flow.critical_ratio, index};
}

/* The coefficient of an orifice holds all its losses, so that its b is that of the ideal nozzle. */
double lb_valve_ratio(const struct lb_valve_size *size) {
  if (size->critical_ratio_given)
    return size->critical_ratio;
  return size->orifice > 0 ? lb_conductance_critical_ratio(LB_GAMMA) : LB_CONDUCTANCE_VALVE_RATIO;
}

double lb_valve_coefficient(const struct lb_valve_size *size) {
  return size->discharge_coefficient == 0 ? LB_ORIFICE_COEFFICIENT : size->discharge_coefficient;
}

struct lb_flow lb_valve_flow(const struct lb_valve_size *size) {
  double ratio = lb_valve_ratio(size), index = size->subsonic_index;
  struct lb_flow flow = {size->conductance, ratio, index};
  if (size->kv > 0)
    return with_index(lb_conductance_of_kv(size->kv, ratio), index);
  if (size->cv > 0)
    return with_index(lb_conductance_of_cv(size->cv, ratio), index);
  if (size->nominal_flow > 0)
    return with_index(lb_conductance_of_nominal(size->nominal_flow, ratio), index);
  if (size->effective_area > 0)
    flow = lb_conductance_of_area(size->effective_area, ratio);
  if (size->orifice > 0)
    flow = lb_conductance_of_orifice(size->orifice, lb_valve_coefficient(size), ratio);
  flow.subsonic_index = index;
  return flow;
}

static void join_tube(struct lb_machine *machine) {
  const struct lb_tubing *tube = &machine->tube;
  bool shared = tube->given && tube->serves == LB_TUBE_BOTH;
  double volume = shared ? LB_PI / 4 * tube->bore * tube->bore * tube->length : 0;
  for (int end = 0; end < LB_ENDS; end++)
    machine->dead_volume[end] += volume - machine->tube_volume;
  machine->tube_volume = volume;
}

static bool tube_serves(const struct lb_tubing *tube, enum lb_valve valve) {
  enum lb_tube_serves own = valve == LB_INLET_VALVE ? LB_TUBE_INLET : LB_TUBE_EXHAUST;
  return tube->given && (tube->serves == LB_TUBE_BOTH || tube->serves == own);
}

/* The air before a tube, which its friction is taken for. */
static struct lb_tube air_before(const struct lb_machine *machine, enum lb_valve valve) {
  struct lb_tube tube = {machine->tube.bore, machine->tube.length, machine->supply_pressure,
                         machine->supply_temperature};
  if (valve == LB_EXHAUST_VALVE) {
    tube.pressure = sqrt(machine->supply_pressure * machine->back_pressure);
    tube.temperature = machine->ambient_temperature;
  }
  return tube;
}

/* The tube comes first on the way in through a tube of the inlet, and on the way out through a
 * shared one. */
static enum lb_status add_tube(struct lb_machine *machine, enum lb_valve valve,
                               struct lb_workspace *workspace, struct lb_error *error) {
  struct lb_path *path = &machine->path[valve];
  bool shared = machine->tube.serves == LB_TUBE_BOTH;
  size_t tube_at = (valve == LB_EXHAUST_VALVE) == shared ? 0 : 1;
  const struct lb_tube tube = air_before(machine, valve);
  struct lb_flow element[2];
  element[1 - tube_at] = path->flow;
  enum lb_status status =
      lb_tube_flow(&element[tube_at], &path->tube_reynolds, &tube, workspace, error);
  if (status == LB_OK)
    path->flow = lb_conductance_series(element, 2);
  return status;
}

static enum lb_status add_tubes(struct lb_machine *machine, struct lb_error *error) {
  struct lb_workspace *workspace = lb_workspace_new();
  enum lb_status status = LB_OK;
  if (!workspace)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the flow through a tube");
  for (int valve = 0; valve < LB_VALVES && status == LB_OK; valve++)
    if (tube_serves(&machine->tube, (enum lb_valve)valve) &&
        lb_valve_flow(&machine->valve_size[valve]).conductance > 0)
      status = add_tube(machine, (enum lb_valve)valve, workspace, error);
  lb_workspace_free(workspace);
  return status;
}

/* What rolling and gradient ask of a vehicle's crank; one that rolls downhill by itself asks for
 * nothing. */
static double standing_torque(const struct lb_machine *machine) {
  const struct lb_load *load = &machine->load;
  double rolling, climbing;
  lb_machine_road_forces(&rolling, &climbing, load);
  double lever = load->wheel_diameter / 2 * load->gearing;
  return fmax((rolling + climbing) * lever / load->drive_efficiency, 0);
}

/* The volume that free air takes up in a vessel filled with it [1]. */
static enum lb_status pressed_share(double *share, const struct lb_machine *machine,
                                    struct lb_error *error) {
  double temperature = machine->ambient_temperature;
  struct lb_real_state free_air, pressed;
  struct lb_real_air *air = lb_real_air_new();
  if (!air)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the air in the store");
  enum lb_status status =
      lb_real_air_state(&free_air, air, machine->ambient_pressure, temperature, error);
  if (status == LB_OK)
    status = lb_real_air_state(&pressed, air, machine->store.rating_pressure, temperature, error);
  if (status == LB_OK)
    *share = free_air.density / pressed.density;
  lb_real_air_free(air);
  return status;
}

/* The room for air of a store that is rated. */
static enum lb_status size_store(struct lb_machine *machine, struct lb_error *error) {
  struct lb_store *store = &machine->store;
  double share = 1;
  if (!store->given || store->rating_amount == 0)
    return LB_OK;
  enum lb_status status = store->rating_is_free ? pressed_share(&share, machine, error) : LB_OK;
  if (status == LB_OK)
    store->volume = store->rating_amount * share;
  return status;
}

enum lb_status lb_machine_complete(struct lb_machine *machine, struct lb_error *error) {
  join_tube(machine);
  if (machine->load.mass > 0)
    machine->load_torque = standing_torque(machine);
  for (int valve = 0; valve < LB_VALVES; valve++) {
    struct lb_flow flow = lb_valve_flow(&machine->valve_size[valve]);
    machine->path[valve].tube_reynolds = 0;
    if (flow.conductance > 0)
      machine->path[valve].flow = flow;
  }
  enum lb_status status = size_store(machine, error);
  if (status == LB_OK && machine->tube.given)
    status = add_tubes(machine, error);
  return status;
}
