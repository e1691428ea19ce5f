/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading a machine for a command.
 */
#include "input.h"

#include "command.h"
#include "message.h"

#include "paper/text.h"

#include <stdlib.h>

/* An override of [air], numbered past those of --set. */
static enum lb_status override_air(struct lb_textfile *text, const char *key,
                                   const struct options *options, struct lb_errors *errors) {
  struct lb_text assignment = {0};
  struct lb_error error;
  char *made;
  lb_text_add(&assignment, "air.%s=%s", key, options->expansion);
  enum lb_status status = lb_text_take(&made, &assignment, &error);
  if (status != LB_OK) {
    lb_errors_add(errors, &error);
    return status;
  }
  status = lb_textfile_override(text, made, options->sets + 1, errors);
  free(made);
  return status;
}

/* --expansion is the expansion, and the compression too where the file sets that apart. */
static enum lb_status override_law(struct lb_textfile *text, const struct options *options,
                                   struct lb_errors *errors) {
  if (!options->expansion)
    return LB_OK;
  bool apart = lb_textfile_find(text, "air", "compression") != NULL;
  enum lb_status status = override_air(text, "expansion", options, errors);
  return status == LB_OK && apart ? override_air(text, "compression", options, errors) : status;
}

static enum lb_status override_all(struct lb_textfile *text, const struct options *options,
                                   struct lb_errors *errors) {
  enum lb_status worst = LB_OK;
  for (int i = 0; i < options->sets; i++) {
    enum lb_status status = lb_textfile_override(text, options->set[i], i + 1, errors);
    worst = worst == LB_OK ? status : worst;
  }
  enum lb_status law = override_law(text, options, errors);
  return worst == LB_OK ? law : worst;
}

int input_read(struct input *input, const struct options *options) {
  struct lb_errors errors = {0};
  *input = (struct input){0};
  enum lb_status status = lb_textfile_read(&input->text, options->operand[0], &errors);
  if (status == LB_OK)
    status = override_all(input->text, options, &errors);
  if (status == LB_OK)
    status = lb_machine_read(&input->machine, &input->given, input->text, &errors);
  if (status == LB_OK)
    input->warnings = lb_machine_warnings(input->warning, &input->machine, &input->given);
  int exit_status = message_errors(&errors, status, options);
  lb_errors_free(&errors);
  return exit_status;
}

void input_free(struct input *input) {
  lb_textfile_free(input->text);
}
