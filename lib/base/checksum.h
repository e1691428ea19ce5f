/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A checksum, so that a sheet and the file it was made from can be known to belong together.
 */
#ifndef LASTBAR_BASE_CHECKSUM_H
#define LASTBAR_BASE_CHECKSUM_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The CRC-32 of bytes[length], as in ITU-T V.42, PNG, gzip and zip. */
uint32_t lb_checksum(const char *bytes, size_t length);

#ifdef __cplusplus
}
#endif

#endif
