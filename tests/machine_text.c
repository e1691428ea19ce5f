/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Machines from text in a test; see the header.
 */
#include "machine_text.h"

#include "support.h"

#include <stdio.h>
#include <string.h>

const char machine_text_least[] = MACHINE_TEXT_CYLINDER "[linkage]\n"
                                                        "kind = swinging\n"
                                                        "pivot distance = 330 mm\n";

static struct lb_textfile *read_text(struct lb_machine *machine, struct lb_given *given,
                                     const char *text, const char *override,
                                     struct lb_errors *errors) {
  struct lb_textfile *file;
  enum lb_status status = lb_textfile_parse(&file, "text", text, strlen(text), errors);
  if (status == LB_OK && override)
    status = lb_textfile_override(file, override, 1, errors);
  if (status == LB_OK)
    status = lb_machine_read(machine, given, file, errors);
  ck_assert_int_eq(status != LB_OK, errors->count > 0);
  return file;
}

struct lb_textfile *machine_text_keep(struct lb_machine *machine, struct lb_given *given,
                                      const char *text, const char *override) {
  struct lb_errors errors = {0};
  struct lb_textfile *file = read_text(machine, given, text, override, &errors);
  if (errors.count > 0)
    ck_abort_msg("line %d: %s: %s", errors.item[0].line, errors.item[0].key, errors.item[0].text);
  lb_errors_free(&errors);
  return file;
}

struct lb_machine machine_text(const char *text, const char *override) {
  struct lb_machine machine;
  lb_textfile_free(machine_text_keep(&machine, NULL, text, override));
  return machine;
}

struct lb_machine machine_text_demo(int index) {
  static const char *const names[MACHINE_TEXT_DEMOS] = {"launch", "organ", "pump", "tractor",
                                                        "trolley"};
  char path[64];
  struct lb_textfile *file;
  struct lb_machine machine;
  snprintf(path, sizeof path, "data/machines/%s.ini", names[index]);
  ck_assert_int_eq(lb_textfile_read(&file, support_source(path), NULL), LB_OK);
  ck_assert_int_eq(lb_machine_read(&machine, NULL, file, NULL), LB_OK);
  lb_textfile_free(file);
  return machine;
}

const char *machine_text_refused(const char *text, const char *override) {
  static char message[sizeof(struct lb_error)];
  struct lb_machine machine;
  struct lb_errors errors = {0};
  lb_textfile_free(read_text(&machine, NULL, text, override, &errors));
  ck_assert_msg(errors.count > 0, "read without errors: %s", text);
  snprintf(message, sizeof message, "%s: %s", errors.item[0].key, errors.item[0].text);
  lb_errors_free(&errors);
  return message;
}
