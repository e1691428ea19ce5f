/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The checksum, against its published check value and against gzip, which ends a file with it.
 */
#include "base/checksum.h"

#include "readers.h"
#include "support.h"

#include <stdio.h>
#include <stdlib.h>

/* The CRC of the nine digits is the check value by which catalogues of such codes tell this one
 * (CRC-32/ISO-HDLC) from others. */
START_TEST(check_value) {
  ck_assert_uint_eq(lb_checksum("123456789", 9), UINT32_C(0xCBF43926));
  ck_assert_uint_eq(lb_checksum("", 0), 0);
}
END_TEST

START_TEST(agrees_with_gzip) {
  uint64_t seed = 5;
  char bytes[5000];
  for (size_t i = 0; i < sizeof bytes; i++)
    bytes[i] = (char)(support_uniform(&seed) * 256 - 128);
  for (size_t length = 1; length <= sizeof bytes; length = length * 17 + 1) {
    char *output = readers_run("gzip -c FILE | tail -c 8 | od -An -tu1", "", bytes, length);
    unsigned part[4] = {0};
    ck_assert_int_eq(sscanf(output, "%u %u %u %u", &part[0], &part[1], &part[2], &part[3]), 4);
    ck_assert_uint_eq(lb_checksum(bytes, length),
                      part[0] | part[1] << 8 | part[2] << 16 | (uint32_t)part[3] << 24);
    free(output);
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("base/checksum");
  TCase *checksum = tcase_create("checksum");
  tcase_add_test(checksum, check_value);
  tcase_add_test(checksum, agrees_with_gzip);
  suite_add_tcase(suite, checksum);
  return support_run(suite, NULL);
}
