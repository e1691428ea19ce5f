/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An answer as named values in order, objects and lists within each other, before it becomes JSON
 * or CSV (paper/table_write.h).
 *
 *   lb_record_open(r, "supply");                    "supply": {
 *   lb_record_number(r, "pressure_pa", 459000);       "pressure_pa": 459000.0
 *   lb_record_close(r);                             }
 *
 * A number that is not finite becomes null, and a negative zero becomes zero, so that neither is
 * ever printed. Running out of memory is remembered and told by the writers.
 */
#ifndef LASTBAR_PAPER_RECORD_H
#define LASTBAR_PAPER_RECORD_H

#include "machine/check.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum lb_record_kind {
  LB_RECORD_OPEN,      /* an object begins */
  LB_RECORD_OPEN_LIST, /* a list begins; what stands in it has no name */
  LB_RECORD_CLOSE,     /* the innermost of them ends */
  LB_RECORD_NULL,      /* no value applies */
  LB_RECORD_TRUTH,
  LB_RECORD_WHOLE,
  LB_RECORD_NUMBER,
  LB_RECORD_TEXT
};

/* One step of a record. */
struct lb_record_item {
  enum lb_record_kind kind;
  const char *name; /* NULL in a list; borrowed, a literal as a rule */
  bool truth;
  int whole;
  double number; /* finite */
  char *text;    /* [UTF-8] owned; NULL unless LB_RECORD_TEXT */
};

/* Starts as all zeroes. */
struct lb_record {
  struct lb_record_item *item; /* item[count] */
  size_t count, capacity;
  bool failed; /* memory ran out: the record is not whole */
};

/* Begin an object or a list, and end the innermost. The record itself is an object that needs
 * neither; every open has its close.
 * name  NULL within a list */
void lb_record_open(struct lb_record *record, const char *name);
void lb_record_open_list(struct lb_record *record, const char *name);
void lb_record_close(struct lb_record *record);

/* Add a value. A text is copied; NULL as text is null. */
void lb_record_null(struct lb_record *record, const char *name);
void lb_record_truth(struct lb_record *record, const char *name, bool value);
void lb_record_whole(struct lb_record *record, const char *name, int value);
void lb_record_number(struct lb_record *record, const char *name, double value);
void lb_record_text(struct lb_record *record, const char *name, const char *value);

/* Add a number, or null where it does not apply. */
void lb_record_number_if(struct lb_record *record, bool applies, const char *name, double value);

/* Add what every answer ends with: a list "warnings" of {"code", "text"}.
 * warning  warning[warnings] */
void lb_record_warnings(struct lb_record *record, const struct lb_warning *warning,
                        size_t warnings);

/* Release what the record holds and leave it empty. */
void lb_record_free(struct lb_record *record);

#ifdef __cplusplus
}
#endif

#endif
