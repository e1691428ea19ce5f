/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any bytes at all as a machine file: it is refused with clear located errors and the machine left
 * alone, or read into a machine whose every number is finite, that passes its own check, and whose
 * values can be written back. For libFuzzer.
 */
#include "machine/check.h"
#include "machine/read.h"
#include "machine/write.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char name[] = "fuzzed";

static void require(int holds) {
  if (!holds)
    abort();
}

static void check_errors(const struct lb_errors *errors) {
  require(errors->dropped == 0);
  for (size_t i = 0; i < errors->count; i++) {
    const struct lb_error *error = &errors->item[i];
    require(error->status == LB_BAD_INPUT && error->file == name && error->line >= 0);
    require(error->set == 0 && error->text[0] != '\0' && !strpbrk(error->text, "\r\n"));
    require(error->key[0] == '[' && strchr(error->text, ';'));
  }
}

static void check_linkage(const struct lb_linkage *linkage) {
  const double numbers[] = {linkage->stroke,       linkage->length,     linkage->offset,
                            linkage->crank_radius, linkage->outward,    linkage->start_angle,
                            linkage->start_cosine, linkage->start_sine, linkage->far_reach,
                            linkage->near_reach};
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
    require(isfinite(numbers[i]));
  require(linkage->stroke > 0 && linkage->crank_radius > 0);
}

static void check_timing(const struct lb_timing *timing) {
  require(isfinite(timing->inlet_opens) && isfinite(timing->cutoff) && isfinite(timing->release));
  require(isfinite(timing->exhaust_closes) && isfinite(timing->opening_ramp));
  require(isfinite(timing->opening_ramp_time));
}

static void check_numbers(const struct lb_machine *m) {
  const double numbers[] = {m->ambient_pressure,
                            m->ambient_temperature,
                            m->humidity,
                            m->supply_pressure,
                            m->supply_temperature,
                            m->dew_point,
                            m->back_pressure,
                            m->expansion_exponent,
                            m->compression_exponent,
                            m->bore,
                            m->rod_diameter,
                            m->through_rod_diameter,
                            m->dead_volume[LB_CAP_END],
                            m->dead_volume[LB_ROD_END],
                            m->friction,
                            m->friction_share,
                            m->breakaway_friction,
                            m->leakage,
                            m->wall_heat_transfer,
                            m->piston_speed_limit,
                            m->rated_pressure,
                            m->receiver_volume,
                            m->tube_volume,
                            m->path[LB_INLET_VALVE].flow.conductance,
                            m->path[LB_INLET_VALVE].flow.critical_ratio,
                            m->path[LB_EXHAUST_VALVE].flow.conductance,
                            m->path[LB_EXHAUST_VALVE].flow.critical_ratio};
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
    require(isfinite(numbers[i]));
  require(m->cylinders >= 1 && m->cylinders <= LB_CYLINDERS_MOST && m->name[0] != '\0');
  for (int k = 0; k < m->cylinders; k++)
    require(isfinite(m->crank_angle[k]));
  check_linkage(&m->linkage);
  check_timing(&m->timing[LB_CAP_END]);
  check_timing(&m->timing[LB_ROD_END]);
}

/* What the text gave comes back from its own bytes after it is written into them. */
static void check_writing(struct lb_textfile *text, const struct lb_machine *machine,
                          const struct lb_given *given) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    bool written = given->entry[LB_ENDS][i] && lb_keys_stated(key, LB_ENDS, machine);
    if (written && !key->of_end && !key->restates)
      require(lb_machine_write_value(text, key, LB_ENDS, machine, NULL) == LB_OK);
  }
}

static void check_machine(struct lb_textfile *text, const struct lb_machine *machine,
                          const struct lb_given *given) {
  struct lb_warning warning[LB_WARNINGS_MOST];
  struct lb_machine again;
  check_numbers(machine);
  require(lb_machine_check(machine, NULL) == LB_OK);
  require(lb_machine_warnings(warning, machine, given) <= LB_WARNINGS_MOST);
  check_writing(text, machine, given);
  size_t length;
  const char *bytes = lb_textfile_bytes(text, &length);
  struct lb_textfile *reread;
  require(lb_textfile_parse(&reread, name, bytes, length, NULL) == LB_OK);
  require(lb_machine_read(&again, NULL, reread, NULL) == LB_OK);
  lb_textfile_free(reread);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  struct lb_errors form = {0}, errors = {0};
  struct lb_textfile *text;
  struct lb_machine machine, before;
  struct lb_given given;
  enum lb_status status = lb_textfile_parse(&text, name, (const char *)data, size, &form);
  memset(&machine, 0x5a, sizeof machine);
  before = machine;
  if (text && lb_machine_read(&machine, &given, text, &errors) == LB_OK) {
    require(errors.count == 0);
    if (status == LB_OK)
      check_machine(text, &machine, &given);
  } else if (text) {
    require(memcmp(&machine, &before, sizeof machine) == 0);
    require(errors.count > 0 || status != LB_OK);
    check_errors(&errors);
  }
  lb_errors_free(&form);
  lb_errors_free(&errors);
  lb_textfile_free(text);
  return 0;
}
