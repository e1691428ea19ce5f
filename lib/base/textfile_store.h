/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a text keeps: its bytes, the values and sections found in them, and the strings of both. Use
 * base/textfile.h, of which this is a part.
 *
 * Invariant: an item whose start is not LB_NOWHERE has its text at bytes[start .. start + length).
 * What can fail for want of memory is done first, by reserving or preparing; adding then cannot.
 */
#ifndef LASTBAR_BASE_TEXTFILE_STORE_H
#define LASTBAR_BASE_TEXTFILE_STORE_H

#include "base/status.h"
#include "base/textfile.h"
#include "base/textfile_line.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define LB_NOWHERE SIZE_MAX

/* A value, or a section (key and value empty, start at its first header). */
struct lb_item {
  struct lb_entry entry;
  size_t start; /* in bytes; LB_NOWHERE while only an override names it */
  size_t length;
  bool faulty; /* of a section: a line of it could not be read */
};

/* Items in order, and a hash table over their names. Starts as all zeroes. */
struct lb_items {
  struct lb_item *item; /* item[count] */
  size_t count, capacity;
  size_t *slot; /* slot[slots], number of an item + 1, 0 when free; at most half full */
  size_t slots; /* a power of two */
};

struct lb_string; /* lives as long as the text */

struct lb_textfile {
  const char *name; /* borrowed */
  char *bytes;      /* bytes[length], then a NUL */
  size_t length;
  struct lb_items entries, sections;
  struct lb_string *strings;
  bool faulty; /* it has a fault of form */
  bool astray; /* a line that could not be read may have stood in any section */
};

/* The item of a section and key (key "" for the section itself), or NULL; it moves when one is
 * added. */
struct lb_item *lb_items_find(const struct lb_items *items, const char *section, const char *key);

/* Make room for one more, so that lb_items_add cannot fail. Returns false without memory. */
bool lb_items_reserve(struct lb_items *items);

/* Add an item of a name that is not there yet, in room that was reserved. */
void lb_items_add(struct lb_items *items, struct lb_item item);

/* Keep a copy of a string as long as the text lives; NULL without memory. */
const char *lb_textfile_keep(struct lb_textfile *text, struct lb_span s);
const char *lb_textfile_keep_name(struct lb_textfile *text, const char *name);

/* Get everything a new value and its section need, so that adding them cannot fail.
 * fresh         out: not in the bytes, no line, no override
 * section, key  folded
 * Returns false without memory. */
bool lb_textfile_prepare(struct lb_item *fresh, struct lb_textfile *text, const char *section,
                         const char *key, struct lb_span value);

/* Add a section in room that was reserved or prepared.
 * name  kept by reference
 * line  of its header, 0 without one; start is then LB_NOWHERE */
void lb_textfile_add_section(struct lb_textfile *text, const char *name, size_t start, int line);

/* Bytes before the text proper: the length of a byte order mark of UTF-8, or 0. */
size_t lb_textfile_mark(const struct lb_textfile *text);

/* Release everything but the struct itself. */
void lb_textfile_clear(struct lb_textfile *text);

/* Say where an error stands: key may be NULL, and section is then not used. */
void lb_textfile_locate(struct lb_error *error, const char *file, int line, const char *section,
                        const char *key);

/* Say that memory ran out. Returns LB_NO_MEMORY. */
enum lb_status lb_textfile_no_memory(struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
