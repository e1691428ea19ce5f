/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files that appear whole or not at all, and the system's refusals in words.
 *
 * Whoever reads a file that is being saved sees all of the old bytes or all of the new ones, also
 * when the disc is full, the power fails or the program is interrupted.
 */
#ifndef LASTBAR_BASE_FILE_SAVE_H
#define LASTBAR_BASE_FILE_SAVE_H

#include "base/status.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Write bytes to a file so that it appears whole or not at all: a temporary beside it, then rename.
 * An existing file keeps its mode, and a link to it stays a link. SIGINT, SIGTERM and SIGHUP wait
 * until no temporary is left.
 * path   kept by reference in the error
 * bytes  bytes[length], any bytes
 * Fails (LB_IO) with the system's reason, or when the path names something other than a file, and
 * then leaves the file as it was and nothing beside it. */
enum lb_status lb_file_save(const char *path, const char *bytes, size_t length,
                            struct lb_error *error);

/* Say that the system refused a file: "WHAT (its reason); check the name and the rights to it".
 * error   out: may be NULL
 * path    kept by reference in the error
 * what    what could not be done, e.g. "cannot be read"
 * number  the system's, as in errno
 * Returns LB_IO. */
enum lb_status lb_file_refused(struct lb_error *error, const char *path, const char *what,
                               int number);

#ifdef __cplusplus
}
#endif

#endif
