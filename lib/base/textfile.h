/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A text of [sections] with `key = value` lines, kept so that it can be written back with only the
 * changed values changed.
 *
 * Sections and keys are compared in lower case (A to Z; other letters as they are) with runs of
 * blanks folded to one. Values are the text between `=` and the comment, trimmed. A comment begins
 * with `;` or `#` at the start of a line or after a blank; elsewhere both belong to the value, and
 * a blank is a space or a tab. Every value knows the line, or the override, that it came from.
 */
#ifndef LASTBAR_BASE_TEXTFILE_H
#define LASTBAR_BASE_TEXTFILE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* One value as it stands. Its strings are owned by the text and stay until the text is freed; the
 * entry itself may move at the next override or change. */
struct lb_entry {
  const char *section; /* folded, lower case */
  const char *key;     /* folded, lower case */
  const char *value;   /* trimmed, as written */
  int line;            /* counted from 1 in the bytes to be written back; 0 for an override */
  int set;             /* number of the override counted from 1; 0 when it comes from the file */
};

struct lb_textfile;

/* The longest line a text may have [bytes], line end not counted. */
enum {
  LB_LINE_MOST = 1000
};

/* Read a file ("-" is standard input) or, below, bytes already in memory.
 * text    out: to be released with lb_textfile_free; NULL when there is nothing to go on with
 * path    kept by reference: it must outlive the text and the errors
 * errors  out: every fault of form with its line, one a line, or NULL: a line over LB_LINE_MOST,
 *         NUL, invalid UTF-8, a control character other than the tab, a lone carriage return, a
 *         line that is neither section, comment nor `key = value`, text after `]`, an indented
 *         line, `:` before `=`, an empty section, key or value, a name over 49 bytes, a key before
 *         any section, a doubled key (naming the first line). CRLF, a byte order mark of UTF-8 and
 *         a last line without an end are accepted. The rest is not read, and the last error says
 *         so, after a line of over 1 MiB, 20 lines that are not text, or 20 faults before any line
 *         that is sound.
 * Returns LB_OK; LB_BAD_INPUT for a fault of form, with a text of all that is sound (of a doubled
 * key, the first), so that its errors of every kind can be told at once; LB_BAD_INPUT without a
 * text when the rest was not read, for UTF-16 and for more than 64 MiB; LB_IO with the system's
 * reason when it cannot be opened or read (a folder too); or LB_NO_MEMORY. */
enum lb_status lb_textfile_read(struct lb_textfile **text, const char *path,
                                struct lb_errors *errors);
enum lb_status lb_textfile_parse(struct lb_textfile **text, const char *name, const char *bytes,
                                 size_t length, struct lb_errors *errors);

void lb_textfile_free(struct lb_textfile *text);

/* Override one value: "section.key=value", split at the first `=`, the section ending at the last
 * `.` before it. A value of the file is replaced in place; a new one is appended.
 * number  which override this is, counted from 1, for messages
 * Fails (LB_BAD_INPUT) when the form is wrong, the value empty or one that no file could hold (with
 * a comment, a line end, ...), or the same key was overridden before; or LB_NO_MEMORY. The error
 * has `set` and no file. The bytes to be written back do not change. */
enum lb_status lb_textfile_override(struct lb_textfile *text, const char *assignment, int number,
                                    struct lb_errors *errors);

/* Whether a line that could not be read may have stood in this section (folded), so that a key
 * which is not there may only be hidden and its absence is no error of its own. True for every
 * section after a fault that leaves the section open: a header without a usable name, a line before
 * any section. A faulty header that names its section all the same marks that one. Faults in
 * comments and doubled keys hide nothing. */
bool lb_textfile_section_faulty(const struct lb_textfile *text, const char *section);

/* Whether the text had a fault of form when it was read: it is good for finding more errors, and
 * for nothing else. */
bool lb_textfile_faulty(const struct lb_textfile *text);

/* The name given when it was read. */
const char *lb_textfile_name(const struct lb_textfile *text);

/* The values in the order of the text, overridden ones in place, new ones last. NULL past the
 * last. */
size_t lb_textfile_count(const struct lb_textfile *text);
const struct lb_entry *lb_textfile_entry(const struct lb_textfile *text, size_t index);

/* The entry of a section and key (both folded), or NULL. */
const struct lb_entry *lb_textfile_find(const struct lb_textfile *text, const char *section,
                                        const char *key);

/* The sections in order of first appearance, and the line of each first header (0 for a section
 * that only an override names). NULL past the last, and line is then left alone.
 * line    out: may be NULL */
size_t lb_textfile_sections(const struct lb_textfile *text);
const char *lb_textfile_section(const struct lb_textfile *text, size_t index, int *line);

/* Change the value of a key in the bytes to be written back: only the value's own bytes change,
 * comment and spacing stay. A missing key is added after the last value of its section (a missing
 * section at the end), with the file's own line ending. The entry then has the new value, unless it
 * is overridden: it keeps the override's.
 * section, key  in any case and spacing
 * value         blanks around it are dropped
 * Fails with LB_BAD_INPUT (a text with a fault of form; a name or value that could not be read
 * back: empty, with line ends, a comment, too long) or LB_NO_MEMORY, and then changes nothing. */
enum lb_status lb_textfile_change(struct lb_textfile *text, const char *section, const char *key,
                                  const char *value, struct lb_error *error);

/* The bytes as they would be written back, the same as read when nothing was changed, and a NUL
 * behind them; owned by the text, valid until the next change. */
const char *lb_textfile_bytes(const struct lb_textfile *text, size_t *length);

#ifdef __cplusplus
}
#endif

#endif
