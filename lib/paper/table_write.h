/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Records as JSON and as CSV.
 *
 * Numbers have the fewest of at most 17 digits that read back to the same double, with a decimal
 * point whatever the locale. The outside library jansson spells every name, text and number; the
 * layout is ours, because it knows no shortest number.
 */
#ifndef LASTBAR_PAPER_TABLE_WRITE_H
#define LASTBAR_PAPER_TABLE_WRITE_H

#include "base/status.h"
#include "paper/record.h"

#ifdef __cplusplus
extern "C" {
#endif

/* The version of the program, "1.2.3", with which every answer begins. */
const char *lb_table_write_version(void);

/* A record as one JSON object, indented, with a line end (RFC 8259).
 * json    out: [UTF-8] to be released with free; unchanged on failure
 * record  every open has its close
 * Fails with LB_BAD_INPUT when a text is not UTF-8, and with LB_NO_MEMORY. */
enum lb_status lb_table_write_json(char **json, const struct lb_record *record,
                                   struct lb_error *error);

/* Records as CSV (RFC 4180, line ends CR LF): a header row with the names of the first, then a row
 * for each. null is an empty cell.
 * csv    out: [UTF-8] to be released with free; unchanged on failure
 * row    row[rows], rows >= 1: values only, in the same order in each
 * A text that begins with = + - @, which a spreadsheet would take for a formula, gets an apostrophe
 * before it. Fails as lb_table_write_json, and with LB_BAD_INPUT when the rows do not match. */
enum lb_status lb_table_write_csv(char **csv, const struct lb_record *row, size_t rows,
                                  struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
