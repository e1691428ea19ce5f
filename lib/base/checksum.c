/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * zlib's CRC-32, which counts bytes in an unsigned int.
 */
#include "base/checksum.h"

#include <limits.h>
#include <zlib.h>

uint32_t lb_checksum(const char *bytes, size_t length) {
  uLong sum = crc32(0, NULL, 0);
  while (length > 0) {
    uInt piece = length < UINT_MAX ? (uInt)length : UINT_MAX;
    sum = crc32(sum, (const Bytef *)bytes, piece);
    bytes += piece;
    length -= piece;
  }
  return (uint32_t)sum;
}
