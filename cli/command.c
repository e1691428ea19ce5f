/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the table of commands prints about itself.
 */
#include "command.h"

#include "paper/text.h"

#include <stdio.h>
#include <string.h>

enum {
  WIDTH = 79,         /* columns of a line */
  COMMAND_COLUMN = 20 /* where the summaries begin */
};

void command_list(void) {
  puts("Commands:");
  for (size_t i = 0; commands[i]; i++) {
    int used = printf("  %s %s", commands[i]->name, commands[i]->operand);
    printf("%*s%s\n", used < COMMAND_COLUMN ? COMMAND_COLUMN - used : 1, "", commands[i]->summary);
  }
}

/* An option and its meaning, on lines of their own so that long ones stay readable. */
static void print_option(const struct option_row *row) {
  struct lb_text text = {0};
  if (row->letter)
    lb_text_add(&text, "  -%c,", row->letter);
  lb_text_add(&text, "%s--%s%s%s\n", row->letter ? " " : "  ", row->name, row->value ? " " : "",
              row->value ? row->value : "");
  lb_text_wrap(&text, WIDTH, "      ", "      ", row->meaning);
  if (text.bytes)
    fputs(text.bytes, stdout);
  lb_text_free(&text);
}

void command_usage(const struct command *command) {
  printf("usage: lastbar %s [OPTION]...%s%s\n\n%s\nOptions:\n", command->name,
         *command->operand ? " " : "", command->operand, command->description);
  for (const struct option_row *row = command->options; row->name; row++)
    print_option(row);
  printf("\nExample:\n  %s\n", command->example);
}
