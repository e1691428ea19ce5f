/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answer about cut-offs for programs. One function gives the figures of an end and one those of
 * a choice, so that JSON and CSV cannot differ.
 */
#include "paper/answer_cutoff.h"

#include "base/constants.h"
#include "paper/answer_cutoff_page.h"
#include "paper/record.h"
#include "paper/table_write.h"
#include "physics/air.h"
#include "stroke/timing.h"

static const double litre = 1e-3; /* [m3] */

static const char *const end_key[] = {[LB_CAP_END] = "cap", [LB_ROD_END] = "rod"};

/* The choices by their keys, in the order of the JSON. */
struct named_rule {
  const char *key;
  enum lb_rule rule;
};

static const struct named_rule choices[] = {
    {"as_timed", LB_AS_TIMED},
    {"atmospheric", LB_ATMOSPHERIC},
    {"economy", LB_ECONOMY}, /* the last of OF_RULES */
    {"common_angle", LB_COMMON_ECONOMY},
    {"common_angle_atmospheric", LB_COMMON_ATMOSPHERIC},
};
enum {
  CHOICES = sizeof choices / sizeof choices[0],
  OF_RULES = 3 /* of them are the rules a question may name */
};

static double degrees(double radians) {
  return radians * 180 / LB_PI;
}

/* The figures of a worked end; those of the revolution are null unless the choice is found. */
static void add_end(struct lb_record *record, const struct lb_machine *machine,
                    const struct lb_choice *choice, enum lb_end end) {
  const struct lb_timing *timing = &machine->timing[end];
  const struct lb_turn *turn = &choice->revolution.end[end].turn;
  bool found = choice->found, shut = choice->end_found[end];
  double cutoff = choice->cutoff[end];
  lb_record_number(record, "inlet_opens_deg", degrees(timing->inlet_opens));
  lb_record_number_if(record, shut, "cutoff_deg", degrees(cutoff));
  lb_record_number_if(record, shut, "cutoff_stroke_fraction",
                      lb_timing_stroke_fraction(machine, end, cutoff));
  lb_record_number(record, "release_deg", degrees(timing->release));
  lb_record_number(record, "exhaust_closes_deg", degrees(timing->exhaust_closes));
  lb_record_number_if(record, found, "release_pressure_pa", turn->release_pressure);
  lb_record_number_if(record, found, "compression_pressure_pa", turn->compression_pressure);
  lb_record_number_if(record, found, "air_kg", turn->air);
  lb_record_number_if(record, found, "indicated_work_j", turn->work);
  lb_record_number_if(record, found, "cutoff_temperature_k", turn->cutoff_temperature);
  lb_record_number_if(record, found, "release_temperature_k", turn->release_temperature);
  lb_record_number_if(record, found, "exhaust_temperature_k", turn->exhaust_temperature);
  lb_record_number_if(record, found && turn->outgoing_temperature > 0, "outgoing_temperature_k",
                      turn->outgoing_temperature);
}

/* Whether a choice is found, and why not. */
static void add_verdict(struct lb_record *record, const struct lb_choice *choice) {
  lb_record_truth(record, "found", choice->found);
  lb_record_text(record, "why", *choice->why ? choice->why : NULL);
  lb_record_text(record, "would_do", *choice->would_do ? choice->would_do : NULL);
}

/* The figures of the whole machine. */
static void add_revolution(struct lb_record *record, const struct lb_choice *choice) {
  const struct lb_revolution *r = &choice->revolution;
  bool found = choice->found;
  lb_record_number_if(record, found, "work_per_rev_j", r->work);
  lb_record_number_if(record, found, "indicated_work_per_rev_j", r->indicated_work);
  lb_record_number_if(record, found, "friction_work_per_rev_j", r->friction_work);
  lb_record_number_if(record, found, "air_per_rev_kg", r->air);
  lb_record_number_if(record, found, "air_per_rev_l_anr", lb_air_volume_anr(r->air) / litre);
  lb_record_number_if(record, found, "mean_torque_nm", r->mean_torque);
  lb_record_number_if(record, found, "mean_effective_pressure_pa", r->mean_effective_pressure);
  lb_record_number_if(record, found && r->air > 0, "work_per_kg_j", r->work_per_kg);
  lb_record_number_if(record, found && r->isentropic_efficiency != 0, "isentropic_efficiency",
                      r->isentropic_efficiency);
  lb_record_number_if(record, found && r->isothermal_efficiency != 0, "isothermal_efficiency",
                      r->isothermal_efficiency);
}

void lb_page_record_choice(struct lb_record *record, const struct lb_machine *machine,
                           const struct lb_choice *choice, const char *name) {
  lb_record_open(record, name);
  add_verdict(record, choice);
  lb_record_open(record, "ends");
  for (int end = 0; end < LB_ENDS; end++) {
    if (!machine->works[end]) {
      lb_record_null(record, end_key[end]);
      continue;
    }
    lb_record_open(record, end_key[end]);
    add_end(record, machine, choice, (enum lb_end)end);
    lb_record_close(record);
  }
  lb_record_close(record);
  add_revolution(record, choice);
  lb_record_close(record);
}

static void add_state(struct lb_record *record, const char *name, double pressure,
                      double temperature) {
  lb_record_open(record, name);
  lb_record_number(record, "pressure_pa", pressure);
  lb_record_number(record, "temperature_k", temperature);
  lb_record_close(record);
}

static void add_bound(struct lb_record *record, const char *name, const bool *found,
                      const double *cutoff) {
  lb_record_open(record, name);
  for (int end = 0; end < LB_ENDS; end++)
    lb_record_number_if(record, found[end], end_key[end], degrees(cutoff[end]));
  lb_record_close(record);
}

void lb_page_record_head(struct lb_record *record, const struct lb_machine *machine,
                         const char *command, bool slow) {
  const struct lb_machine *m = machine;
  lb_record_text(record, "lastbar", lb_table_write_version());
  lb_record_text(record, "command", command);
  lb_record_text(record, "machine", m->name);
  lb_record_number_if(record, slow, "expansion_exponent", m->expansion_exponent);
  lb_record_number_if(record, slow, "compression_exponent", m->compression_exponent);
  add_state(record, "supply", m->supply_pressure, m->supply_temperature);
  add_state(record, "surroundings", m->ambient_pressure, m->ambient_temperature);
}

void lb_page_record_torque(struct lb_record *record,
                           double (*torque)(double angle, const void *context),
                           const void *context) {
  const int turn = 360; /* [deg] */
  lb_record_open(record, "torque");
  lb_record_open_list(record, "angle_deg");
  for (int i = 0; i <= turn; i++)
    lb_record_number(record, NULL, i);
  lb_record_close(record);
  lb_record_open_list(record, "torque_nm");
  for (int i = 0; i <= turn; i++)
    lb_record_number(record, NULL, torque(i * LB_DEGREE, context));
  lb_record_close(record);
  lb_record_close(record);
}

/* The supply that suits the file's own timing: the larger of the ends'; 0 when it has none. */
static double same_timing_pressure(const struct lb_cutoff_answer *answer) {
  double cap = answer->supply_pressure[LB_CAP_END], rod = answer->supply_pressure[LB_ROD_END];
  return cap > rod ? cap : rod;
}

/* The answers for each assumption of a dead volume that is not known. */
static void add_assumed(struct lb_record *record, const struct lb_assumed *assumed) {
  lb_record_open_list(record, "dead_volume_assumed");
  for (int i = 0; i < LB_DEAD_VOLUMES; i++) {
    const struct lb_machine *m = &assumed[i].machine;
    lb_record_open(record, NULL);
    lb_record_number(record, "swept_volume_share", lb_machine_dead_share((enum lb_dead_volume)i));
    lb_page_record_choice(record, m, &assumed[i].answer.choice[LB_ATMOSPHERIC], "atmospheric");
    lb_page_record_choice(record, m, &assumed[i].answer.choice[LB_ECONOMY], "economy");
    lb_record_close(record);
  }
  lb_record_close(record);
}

enum lb_status lb_answer_cutoff_json(char **json, const struct lb_cutoff_paper *paper,
                                     struct lb_error *error) {
  const struct lb_cutoff_answer *answer = paper->answer;
  struct lb_record record = {0};
  double same = same_timing_pressure(answer);
  lb_page_record_head(&record, paper->machine, "cutoff", true);
  lb_record_open(&record, "bounds");
  add_bound(&record, "isothermal", answer->isothermal_found, answer->isothermal);
  add_bound(&record, "adiabatic", answer->adiabatic_found, answer->adiabatic);
  lb_record_close(&record);
  lb_record_open(&record, "choices");
  for (int i = 0; i < CHOICES; i++)
    lb_page_record_choice(&record, paper->machine, &answer->choice[choices[i].rule],
                          choices[i].key);
  lb_record_close(&record);
  lb_record_number_if(&record, same > 0, "same_timing_pressure_pa", same);
  lb_record_open(&record, "same_timing_pressures_pa");
  for (int end = 0; end < LB_ENDS; end++)
    lb_record_number_if(&record, answer->supply_pressure[end] > 0, end_key[end],
                        answer->supply_pressure[end]);
  lb_record_close(&record);
  lb_record_number(&record, "ceiling_j", answer->ceiling);
  lb_detail_record(&record, paper->machine, paper->detail);
  if (paper->assumed)
    add_assumed(&record, paper->assumed);
  lb_record_warnings(&record, paper->warning, paper->warnings);
  enum lb_status status = lb_table_write_json(json, &record, error);
  lb_record_free(&record);
  return status;
}

enum lb_status lb_page_csv(char **csv, const struct lb_cutoff_paper *paper, bool common_angles,
                           struct lb_error *error) {
  struct lb_record row[CHOICES * LB_ENDS] = {0};
  size_t rows = 0;
  for (int i = 0; i < (common_angles ? CHOICES : OF_RULES); i++)
    for (int end = 0; end < LB_ENDS; end++) {
      const struct lb_choice *choice = &paper->answer->choice[choices[i].rule];
      if (!paper->machine->works[end])
        continue;
      struct lb_record *record = &row[rows++];
      lb_record_text(record, "machine", paper->machine->name);
      lb_record_text(record, "choice", choices[i].key);
      lb_record_text(record, "end", end_key[end]);
      add_verdict(record, choice);
      add_end(record, paper->machine, choice, (enum lb_end)end);
      add_revolution(record, choice);
    }
  enum lb_status status = lb_table_write_csv(csv, row, rows, error);
  for (size_t i = 0; i < rows; i++)
    lb_record_free(&row[i]);
  return status;
}

enum lb_status lb_answer_cutoff_csv(char **csv, const struct lb_cutoff_paper *paper,
                                    struct lb_error *error) {
  return lb_page_csv(csv, paper, true, error);
}
