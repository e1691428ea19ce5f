/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole of lastbar, in the order in which the data flows: from the text of a machine file over
 * the machine, its chambers and its revolution to the answer and to paper.
 *
 *   struct lb_errors errors = {0};
 *   struct lb_textfile *text;
 *   struct lb_machine machine;
 *   struct lb_cycle *cycle = lb_cycle_new();
 *   struct lb_cutoff_answer answer;
 *   lb_textfile_read(&text, "trolley.ini", &errors);
 *   lb_machine_read(&machine, NULL, text, &errors);
 *   lb_cycle_prepare(cycle, &machine, NULL);
 *   lb_cutoff_find(&answer, cycle, 0, NULL);
 *
 * Each call returns an enum lb_status, which is LB_OK when its outputs may be used. A program that
 * starts threads calls lb_init first.
 */
#ifndef LASTBAR_LASTBAR_H
#define LASTBAR_LASTBAR_H

/* The order of the data flow, not that of the alphabet: */
/* clang-format off */

/* Statuses and errors, constants, numerics, units, texts of keys and values. */
#include "base/format.h"
#include "base/status.h"
#include "base/constants.h"
#include "base/numeric.h"
#include "base/ode.h"
#include "base/plain.h"
#include "base/units.h"
#include "base/file_save.h"
#include "base/checksum.h"
#include "base/textfile.h"

/* Air, linkages and cams, in plain numbers. */
#include "physics/air.h"
#include "physics/flow.h"
#include "physics/conductance.h"
#include "physics/tube.h"
#include "physics/real_air.h"
#include "physics/linkage.h"
#include "physics/cam.h"

/* The machine in SI, its keys, reading, checking, writing back. */
#include "machine/machine.h"
#include "machine/complete.h"
#include "machine/keys.h"
#include "machine/glossary.h"
#include "machine/check.h"
#include "machine/read.h"
#include "machine/write.h"

/* One chamber, the timing of its valves, forces, the whole machine through a revolution; its torque,
 * and where the worth of the air goes. */
#include "stroke/chamber.h"
#include "stroke/timing.h"
#include "stroke/force.h"
#include "stroke/gas_exchange.h"
#include "stroke/cycle.h"
#include "stroke/running.h"
#include "stroke/torque.h"
#include "stroke/audit.h"

/* Where to shut the inlet, what a degree costs, and what to be warned of. */
#include "decide/economy.h"
#include "decide/cutoff.h"
#include "decide/sensitivity.h"
#include "decide/detail.h"
#include "decide/remarks.h"
#include "decide/schedule.h"
#include "decide/running_cutoff.h"
#include "decide/speed_schedule.h"
#include "decide/curves.h"
#include "decide/advice.h"

/* What the shaft drives, and the store it runs from. */
#include "duty/load.h"
#include "duty/tank.h"
#include "duty/rundown.h"

/* Answers as text, JSON and CSV. */
#include "paper/text.h"
#include "paper/table.h"
#include "paper/record.h"
#include "paper/table_write.h"
#include "paper/show.h"
#include "paper/sketch.h"
#include "paper/answer_detail.h"
#include "paper/answer_check.h"
#include "paper/answer_cutoff.h"
#include "paper/answer_cycle.h"
#include "paper/answer_running.h"
#include "paper/answer_curves.h"
#include "paper/answer_rundown.h"
#include "paper/controller.h"

/* Sheets for the workshop: shapes in millimetres, the formats they are written in, the sheets. */
#include "paper/drawing.h"
#include "paper/drawing_dxf.h"
#include "paper/drawing_cairo.h"
#include "paper/sheet.h"
#include "paper/sheet_timing.h"
#include "paper/sheet_indicator.h"
#include "paper/sheet_torque.h"
#include "paper/sheet_curves.h"
#include "paper/sheet_rundown.h"
#include "paper/sheet_disc.h"
#include "paper/sheet_cam.h"
#include "paper/chart.h"

/* clang-format on */

#endif
