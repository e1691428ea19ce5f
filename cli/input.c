/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading a machine for a command.
 */
#include "input.h"

#include "command.h"
#include "message.h"

#include "base/checksum.h"
#include "paper/text.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

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

/* An override that names a key without its section: offer those that have it. */
static void name_section(struct lb_error *error, const char *assignment) {
  size_t name = strcspn(assignment, "=");
  struct lb_text offer = {0};
  for (size_t i = 0; i < lb_keys_count() && assignment[name]; i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (strlen(key->name) == name && strncasecmp(key->name, assignment, name) == 0)
      lb_text_add(&offer, "%s'%s.%s'", offer.length ? " or " : "", key->section, assignment);
  }
  if (offer.bytes && !memchr(assignment, '.', name)) {
    int set = error->set;
    lb_error_set(error, LB_BAD_INPUT, "no section in '%s'; write %s", assignment, offer.bytes);
    error->set = set;
    error->file = NULL;
    error->line = 0;
    error->key[0] = '\0';
  }
  lb_text_free(&offer);
}

static enum lb_status override_value(struct lb_textfile *text, const char *assignment, int number,
                                     struct lb_errors *errors) {
  size_t had = errors->count;
  enum lb_status status = lb_textfile_override(text, assignment, number, errors);
  if (errors->count > had)
    name_section(&errors->item[had], assignment);
  return status;
}

static enum lb_status worse(enum lb_status one, enum lb_status other) {
  return one == LB_OK ? other : one;
}

static enum lb_status override_all(struct lb_textfile *text, const struct options *options,
                                   struct lb_errors *errors) {
  enum lb_status status = LB_OK;
  for (int i = 0; i < options->sets; i++)
    status = worse(status, override_value(text, options->set[i], i + 1, errors));
  if (options->expansion)
    status = worse(status, override_air(text, "expansion", options, errors));
  return status;
}

/* --expansion stands for the compression too; where the file sets that apart, the machine is read
 * again with it, once the law is known to be sound. */
static enum lb_status read_machine(struct input *input, const struct options *options,
                                   struct lb_errors *errors) {
  enum lb_status status = lb_machine_read(&input->machine, &input->given, input->text, errors);
  bool apart = lb_textfile_find(input->text, "air", "compression") != NULL;
  if (status != LB_OK || !options->expansion || !apart)
    return status;
  status = override_air(input->text, "compression", options, errors);
  return worse(status, lb_machine_read(&input->machine, &input->given, input->text, errors));
}

static void add_change(struct lb_text *list, const char *option, const char *value) {
  if (value)
    lb_text_add(list, "%s%s%s", list->length > 0 ? "; " : "", option, value);
}

/* Where the machine comes from, for what is carried to the bench. */
static enum lb_status name_source(struct input *input, const struct options *options,
                                  struct lb_errors *errors) {
  const char *path = options->operand[0], *slash = strrchr(path, '/');
  struct lb_text list = {0};
  struct lb_error error;
  size_t length;
  const char *bytes = lb_textfile_bytes(input->text, &length);
  input->checksum = lb_checksum(bytes, length);
  input->name = strcmp(path, "-") == 0 ? "standard input" : slash ? slash + 1 : path;
  for (int i = 0; i < options->sets; i++)
    add_change(&list, "", options->set[i]);
  add_change(&list, "expansion=", options->expansion);
  add_change(&list, "margin=", options->margin_text);
  enum lb_status status = lb_text_take(&input->changes, &list, &error);
  if (status != LB_OK)
    lb_errors_add(errors, &error);
  return status;
}

/* Fill in the input; it is to be released also after a failure. */
static int read_input(struct input *input, const struct options *options) {
  struct lb_errors errors = {0};
  *input = (struct input){0};
  enum lb_status status = lb_textfile_read(&input->text, options->operand[0], &errors);
  if (input->text) { /* all errors are found in one go */
    status = worse(status, override_all(input->text, options, &errors));
    status = worse(status, read_machine(input, options, &errors));
    status = worse(status, name_source(input, options, &errors));
  }
  if (status == LB_OK)
    input->warnings = lb_machine_warnings(input->warning, &input->machine, &input->given);
  int exit_status = message_errors(&errors, status, options);
  lb_errors_free(&errors);
  return exit_status;
}

static void release(struct input *input) {
  free(input->changes);
  lb_textfile_free(input->text);
}

size_t input_warnings_at_speed(struct lb_warning *warning, const struct input *input) {
  size_t count = 0;
  for (size_t i = 0; i < input->warnings; i++)
    if (strcmp(input->warning[i].code, "only_at_speed") != 0 &&
        strcmp(input->warning[i].code, "window_short") != 0)
      warning[count++] = input->warning[i];
  return count;
}

int input_answer(const struct options *options,
                 int (*answer)(const struct input *input, const struct options *options)) {
  struct input input;
  int status = read_input(&input, options);
  if (status == ANSWERED)
    status = answer(&input, options);
  release(&input);
  return status;
}
