/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar help: what there is, and what a key of the machine file means.
 */
#include "command.h"
#include "message.h"

#include "machine/glossary.h"
#include "machine/keys.h"
#include "paper/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum {
  WIDTH = 79,      /* columns of a line */
  WORDS_MOST = 12, /* of a key's name: "[cylinder] dead volume cap end" has six */
  INDENT = 16      /* where the keys of a section begin */
};

static const struct option_row rows[] = {OPTION_HELP, OPTION_END};

/* The names of a section's keys from row *index on, which moves to the next section. */
static void list_section(struct lb_text *out, size_t *index) {
  struct lb_text names = {0};
  const char *section = lb_keys_get(*index)->section;
  char lead[INDENT + 1];
  snprintf(lead, sizeof lead, "  %-*s", INDENT - 2, section);
  for (; *index < lb_keys_count() && strcmp(lb_keys_get(*index)->section, section) == 0; ++*index)
    lb_text_add(&names, "%s%s", names.length ? ", " : "", lb_keys_get(*index)->name);
  char rest[INDENT + 1];
  snprintf(rest, sizeof rest, "%*s", INDENT, "");
  if (names.bytes)
    lb_text_wrap(out, WIDTH, lead, rest, names.bytes);
  lb_text_free(&names);
}

/* Commands, then all keys by their section. */
static int list(const struct options *options) {
  struct lb_text out = {0};
  for (size_t index = 0; index < lb_keys_count();)
    list_section(&out, &index);
  char *keys;
  struct lb_error error;
  if (lb_text_take(&keys, &out, &error) != LB_OK)
    return message_error(&error, options);
  command_list();
  printf("\nKeys of the machine file, by section:\n%s", keys);
  puts("\nlastbar help KEY explains one, and lastbar COMMAND --help a command:\n"
       "  lastbar help bore\n"
       "  lastbar help 'dead volume'\n"
       "  lastbar cutoff --help");
  free(keys);
  return ANSWERED;
}

/* Whether a key answers to a name that is not quite its own: its section, or its first words. */
static bool answers_to(const struct lb_key *key, const char *name) {
  size_t length = strlen(name), section = strlen(key->section);
  bool bracketed = name[0] == '[' && length == section + 2 && name[length - 1] == ']';
  return strcasecmp(key->section, name) == 0 ||
         (bracketed && strncasecmp(key->section, name + 1, section) == 0) ||
         (strncasecmp(key->name, name, length) == 0 && key->name[length] == ' ');
}

/* Help on every key that answers to a name; `error` stays when there is none. */
static enum lb_status explain_all(struct lb_text *out, const char *name, struct lb_error *error) {
  enum lb_status status = error->status;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    char full[128], *help;
    if (!answers_to(key, name))
      continue;
    snprintf(full, sizeof full, "[%s] %s", key->section, key->name);
    status = lb_keys_help(&help, full, error);
    if (status != LB_OK)
      return status;
    lb_text_add(out, "%s%s", out->length ? "\n" : "", help);
    free(help);
  }
  return status;
}

/* Help on the keys of a name. */
static enum lb_status explain_keys(struct lb_text *out, const char *name, struct lb_error *error) {
  char *help;
  enum lb_status status = lb_keys_help(&help, name, error);
  if (status == LB_BAD_INPUT)
    return explain_all(out, name, error);
  if (status != LB_OK)
    return status;
  lb_text_add(out, "%s", help);
  free(help);
  return LB_OK;
}

/* A word of the answers, then the keys of that name. */
static enum lb_status explain(struct lb_text *out, const char *name, struct lb_error *error) {
  const char *meaning = lb_glossary_find(name);
  struct lb_text keys = {0};
  enum lb_status status = explain_keys(&keys, name, error);
  if (meaning)
    lb_text_wrap(out, WIDTH, "", "", meaning);
  if (status == LB_OK)
    lb_text_add(out, "%s%s", meaning ? "\n" : "", keys.bytes ? keys.bytes : "");
  out->failed = out->failed || keys.failed;
  lb_text_free(&keys);
  return status == LB_BAD_INPUT && meaning ? LB_OK : status;
}

static int run(const struct options *options) {
  if (options->operands == 0)
    return list(options);
  const struct command *command = command_find(options->operand[0]);
  if (command && options->operands == 1) {
    command_usage(command);
    return ANSWERED;
  }
  struct lb_text name = {0}, out = {0};
  for (int i = 0; i < options->operands; i++)
    lb_text_add(&name, "%s%s", i ? " " : "", options->operand[i]);
  struct lb_error error;
  char *key = NULL, *text = NULL;
  enum lb_status status = lb_text_take(&key, &name, &error);
  if (status == LB_OK)
    status = explain(&out, key, &error);
  if (status == LB_OK)
    status = lb_text_take(&text, &out, &error);
  if (status == LB_OK)
    fputs(text, stdout);
  free(key);
  free(text);
  lb_text_free(&out);
  return status == LB_OK ? ANSWERED : message_error(&error, options);
}

const struct command command_help = {
    .name = "help",
    .operand = "[KEY]",
    .most_operands = WORDS_MOST,
    .summary = "what a key of the machine file means and how to measure it",
    .description =
        "Without KEY, lists the commands and all keys. KEY is a key of the machine file,\n"
        "with or without its section, a section, a command, or a word of the answers\n"
        "such as ANR, cap end or ceiling.\n",
    .example = "lastbar help 'supply.pressure'",
    .options = rows,
    .run = run,
};
