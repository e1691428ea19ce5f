/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For the tests: a machine from text in the test itself.
 */
#ifndef LASTBAR_TESTS_MACHINE_TEXT_H
#define LASTBAR_TESTS_MACHINE_TEXT_H

#include "machine/machine.h"
#include "machine/read.h"

/* Cylinder and supply of a machine of 50 x 100 mm, double-acting; and the same with a yoke, the
 * simplest of motions. Other sections may follow; it ends in [linkage]. */
#define MACHINE_TEXT_CYLINDER                                                                      \
  "[cylinder]\n"                                                                                   \
  "bore = 50 mm\n"                                                                                 \
  "stroke = 100 mm\n"                                                                              \
  "piston rod = 20 mm\n"                                                                           \
  "dead volume cap end = 16 cm3\n"                                                                 \
  "dead volume rod end = 18 cm3\n"                                                                 \
  "[supply]\n"                                                                                     \
  "pressure = 6 bar gauge\n"
#define MACHINE_TEXT_YOKE                                                                          \
  MACHINE_TEXT_CYLINDER                                                                            \
  "[linkage]\n"                                                                                    \
  "kind = yoke\n"

/* The fewest keys of a machine: a double-acting swinging cylinder of 50 x 100 mm. Other sections
 * may follow; it ends in [linkage]. */
extern const char machine_text_least[];

/* Read a machine; the test fails with the first message when that fails.
 * override  one override, or NULL */
struct lb_machine machine_text(const char *text, const char *override);

/* One of the demo machines, 0 ... MACHINE_TEXT_DEMOS - 1. */
enum {
  MACHINE_TEXT_TROLLEY = 4,
  MACHINE_TEXT_DEMOS
};
struct lb_machine machine_text_demo(int index);

/* As machine_text, leaving the text to the caller, who releases it with lb_textfile_free; `given`
 * points into it. */
struct lb_textfile *machine_text_keep(struct lb_machine *machine, struct lb_given *given,
                                      const char *text, const char *override);

/* The first message of a text that cannot be read, "[section] key: text"; static buffer. */
const char *machine_text_refused(const char *text, const char *override);

#endif
