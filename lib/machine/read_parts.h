/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the files that read a machine share: a text half read. Use machine/read.h.
 */
#ifndef LASTBAR_MACHINE_READ_PARTS_H
#define LASTBAR_MACHINE_READ_PARTS_H

#include "base/status.h"
#include "base/textfile.h"
#include "machine/keys.h"
#include "machine/machine.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A text half read. */
struct lb_reading {
  const struct lb_textfile *text;
  struct lb_machine machine;
  struct lb_given given;
  bool unknown[LB_ENDS + 1][LB_KEYS_MOST];
  double share[LB_ENDS + 1][LB_KEYS_MOST]; /* of the stroke [1], until the linkage is known; NaN
                                              where the event is an angle */
  int angles;                              /* how many crank angles are listed */
  struct lb_errors *errors;
};

/* The entry of a key in the section of an end, or of both (LB_ENDS); NULL when it is not given. */
const struct lb_entry *lb_reading_entry(const struct lb_reading *r, const struct lb_key *key,
                                        enum lb_end end);

/* Whether a key of a section that is not one of an end is given. */
bool lb_reading_gives(const struct lb_reading *r, const char *section, const char *name);

/* Where it is kept that the value of a key is not known. */
bool *lb_reading_unknown(struct lb_reading *r, const struct lb_key *key, enum lb_end end);

/* Whether the value of a key of a section that is not one of an end is known, and that it is not.
 */
bool lb_reading_knows(struct lb_reading *r, const char *section, const char *name);
void lb_reading_forget(struct lb_reading *r, const char *section, const char *name);

/* Whether a section stands in the text.
 * line  out: that of its header, 0 if there is none */
bool lb_reading_stands(const struct lb_reading *r, const char *section, int *line);

/* Add an error with the place of an entry. */
void lb_reading_blame(struct lb_reading *r, struct lb_error *error, const struct lb_entry *entry);

/* Fill in what follows from other values (machine/read_derive.c). */
void lb_reading_derive(struct lb_reading *r);

#ifdef __cplusplus
}
#endif

#endif
