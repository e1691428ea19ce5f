/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of commands, and the way from a word on the command line to the command.
 */
#include "command.h"
#include "message.h"

#include "base/plain.h"
#include "paper/table_write.h"

#include <stdio.h>
#include <string.h>

/* An answer fits in here as a rule: it is written when it is whole, and what goes wrong with that
 * is known at the end. */
enum {
  BUFFER_SIZE = 1 << 16
};

const struct command *const commands[] = {&command_start,
                                          &command_help,
                                          &command_check,
                                          &command_cutoff,
                                          &command_cycle,
                                          &command_curves,
                                          &command_rundown,
                                          &command_table,
                                          &command_chart,
                                          &command_completion,
                                          NULL};

const struct command *command_find(const char *name) {
  for (size_t i = 0; commands[i]; i++)
    if (strcmp(commands[i]->name, name) == 0)
      return commands[i];
  return NULL;
}

/* What was probably meant by a word that is no command: the command for a file, or one spelt much
 * like it. */
static int refuse_word(const char *word) {
  static const char ending[] = ".ini";
  const size_t farthest = 2; /* letters */
  size_t length = strlen(word), tail = strlen(ending);
  if (word[0] == '-')
    return message_usage(NULL, "unknown option '%s'", word);
  if (length > tail && strcmp(word + length - tail, ending) == 0) {
    fprintf(stderr, "lastbar: no command; did you mean 'lastbar cutoff %s'?\n", word);
    return BAD_USAGE;
  }
  const struct command *nearest = commands[0];
  for (size_t i = 1; commands[i]; i++)
    if (lb_plain_distance(word, commands[i]->name) < lb_plain_distance(word, nearest->name))
      nearest = commands[i];
  if (length > farthest && lb_plain_distance(word, nearest->name) <= farthest)
    return message_usage(NULL, "unknown command '%s'; the nearest is '%s'", word, nearest->name);
  return message_usage(NULL, "unknown command '%s'", word);
}

static int version(void) {
  printf("lastbar %s\n", lb_table_write_version());
  puts("Licence GPL-3.0-or-later: free software, which you may change and pass on.\n"
       "There is no warranty, to the extent permitted by law.");
  return ANSWERED;
}

static int usage(void) {
  puts("usage: lastbar COMMAND [OPTION]... [FILE]\n\n"
       "Where to shut the inlet of a crank-driven air cylinder: from a machine file to\n"
       "the cut-off, with the work and air of a revolution.\n");
  command_list();
  puts("\nlastbar COMMAND --help says more about a command, lastbar --version which\n"
       "version this is. Exit status: 0 answered, 1 the question asked has no answer,\n"
       "2 bad usage or bad input, 3 something could not be read or written.");
  return ANSWERED;
}

static int run(const struct command *command, int argc, char **argv) {
  struct options options;
  if (!options_read(&options, command, argc, argv))
    return BAD_USAGE;
  if (options.help) {
    command_usage(command);
    return ANSWERED;
  }
  return command->run(&options);
}

static int answer(int argc, char **argv) {
  if (argc < 2)
    return message_usage(NULL, "no command given");
  if (strcmp(argv[1], "--version") == 0)
    return version();
  if (strcmp(argv[1], "--help") == 0)
    return usage();
  const struct command *command = command_find(argv[1]);
  if (!command)
    return refuse_word(argv[1]);
  return run(command, argc - 1, argv + 1);
}

int main(int argc, char **argv) {
  char buffer[BUFFER_SIZE];
  setvbuf(stdout, buffer, _IOFBF, sizeof buffer);
  return message_finish(answer(argc, argv));
}
