/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How the library says that something went wrong.
 *
 * A function that can fail returns an lb_status, takes its outputs first and an error last, and
 * changes the caller's data only when it succeeds. Work that can go wrong in several places at once
 * (reading a machine file) collects all its errors in a list. Nothing here prints.
 */
#ifndef LASTBAR_BASE_STATUS_H
#define LASTBAR_BASE_STATUS_H

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What became of a call. */
enum lb_status {
  LB_OK = 0,
  LB_NO_ANSWER, /* the question is sound but has no answer; the text says what would make one */
  LB_BAD_INPUT, /* a value or a text that cannot be used */
  LB_IO,        /* a file could not be read or written */
  LB_NO_MEMORY,
  LB_NUMERIC /* a solver did not reach its tolerance */
};

/* One message. All members are filled by the function that fails; an lb_error need not be
 * initialised before a call, and is left alone by a call that succeeds. */
struct lb_error {
  enum lb_status status;
  const char *file; /* name of the text the value stands in, or NULL; borrowed from the caller, who
                       named it */
  int line;         /* line in that text counted from 1, or 0 */
  int set;          /* number of the override ("--set") the value stands in counted from 1, or 0 */
  char key[128];    /* "[section] key" or "" */
  char text[640];   /* "what was found; what would do", one line, no full stop */
};

/* A growing list of messages, in the order found until sorted. Starts as all zeroes. */
struct lb_errors {
  struct lb_error *item; /* item[count] */
  size_t count;
  size_t capacity;
  size_t dropped; /* messages past LB_ERRORS_MOST, counted and not kept */
};

/* The most messages a list keeps; the rest are counted. */
enum {
  LB_ERRORS_MOST = 1000
};

/* A short English name of a status, never NULL. */
const char *lb_status_text(enum lb_status status);

/* Fill *error (which may be NULL) with a status and a printf-style text, no file, line or key.
 * Returns the status, so that a caller can write `return lb_error_set(...)`. A text that does not
 * fit ends in "...". */
enum lb_status lb_error_set(struct lb_error *error, enum lb_status status, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Append a copy of *error to the list (which may be NULL). Past LB_ERRORS_MOST, and when memory
 * runs out, the message is counted in `dropped` instead. */
void lb_errors_add(struct lb_errors *errors, const struct lb_error *error);

/* Put a list in the order in which a person mends it: by line, and on a line by key and text;
 * errors of overrides last, in the order of the overrides. */
void lb_errors_sort(struct lb_errors *errors);

/* Release what the list holds and leave it empty. Takes an empty list too. */
void lb_errors_free(struct lb_errors *errors);

#ifdef __cplusplus
}
#endif

#endif
