/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar completion: what a shell needs to complete a command line.
 *
 * Both scripts are made from the tables of commands, options and keys, so that they know what the
 * program knows. What does not depend on those stands here as text.
 */
#include "command.h"
#include "message.h"

#include "machine/keys.h"

#include <stdio.h>
#include <string.h>

static const struct option_row rows[] = {OPTION_HELP, OPTION_END};

static const char *const shells[] = {"bash", "zsh", NULL};

static const char bash_begin[] =
    "# SPDX-License-Identifier: GPL-3.0-or-later\n"
    "# What bash completes for lastbar(1). Made by: lastbar completion bash\n"
    "\n"
    "# Reply with the lines of $1 that begin with the word at hand, $2 behind each.\n"
    "_lastbar_reply() {\n"
    "  local line\n"
    "  while IFS= read -r line; do\n"
    "    [[ $line && $line == \"$word\"* ]] || continue\n"
    "    [[ $quote ]] || line=${line// /\\\\ }\n"
    "    COMPREPLY+=(\"$line$2\")\n"
    "  done <<<\"$1\"\n"
    "}\n"
    "\n"
    "# Reply with machine files, and with directories on the way to them.\n"
    "_lastbar_files() {\n"
    "  local file\n"
    "  compopt -o filenames 2>/dev/null\n"
    "  while IFS= read -r file; do\n"
    "    COMPREPLY+=(\"$file\")\n"
    "  done < <(compgen -f -X '!*.ini' -- \"$word\"; compgen -d -- \"$word\")\n"
    "}\n";

static const char bash_function[] =
    "\n"
    "_lastbar() {\n"
    "  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} quote=\n"
    "  COMPREPLY=()\n"
    "  if [[ $word == '=' ]]; then # bash parts --units=inch into three words\n"
    "    word=\n"
    "    [[ $before == --* ]] || return\n"
    "  elif [[ $before == '=' ]]; then\n"
    "    before=${COMP_WORDS[COMP_CWORD - 2]}\n"
    "    [[ $before == --* ]] || return\n"
    "  fi\n"
    "  case $word in\n"
    "    [\\'\\\"]*) quote=${word:0:1} word=${word:1} ;;\n"
    "    *) word=${word//\\\\/} ;;\n"
    "  esac\n"
    "  if ((COMP_CWORD == 1)); then\n"
    "    _lastbar_reply \"$_lastbar_commands\"\n"
    "    return\n"
    "  fi\n"
    "  case ${COMP_WORDS[1]},$before in\n";

static const char bash_end[] = "  esac\n"
                               "}\n"
                               "complete -F _lastbar lastbar\n";

static const char zsh_begin[] =
    "#compdef lastbar\n"
    "# SPDX-License-Identifier: GPL-3.0-or-later\n"
    "# What zsh completes for lastbar(1). Made by: lastbar completion zsh\n";

static const char zsh_function[] = "  )\n"
                                   "  if ((CURRENT == 2)); then\n"
                                   "    _describe command commands\n"
                                   "    compadd -- --help --version\n"
                                   "    return\n"
                                   "  fi\n"
                                   "  local command=$words[2]\n"
                                   "  shift words\n"
                                   "  ((CURRENT--))\n"
                                   "  case $command in\n";

static const char zsh_end[] = "  esac\n"
                              "}\n"
                              "\n"
                              "_lastbar \"$@\"\n";

/* Called with each name that a completion may offer. */
typedef void give_name(const char *name);

static void give_line(const char *name) {
  printf("\n%s", name);
}

static void give_quoted(const char *name) {
  printf("    '%s'\n", name);
}

static void each_command(give_name *give) {
  for (size_t i = 0; commands[i]; i++)
    give(commands[i]->name);
}

/* Every key with its section, as --set takes it. */
static void each_override(give_name *give) {
  char name[128];
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    for (int end = key->of_end ? 0 : LB_ENDS; end <= LB_ENDS; end++) {
      snprintf(name, sizeof name, "%s.%s", lb_keys_section(key, (enum lb_end)end), key->name);
      give(name);
    }
  }
}

/* Whether one of the first `count` rows is called so too. */
static bool is_repeated(const char *name, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (strcmp(lb_keys_get(i)->name, name) == 0)
      return true;
  return false;
}

/* What there is help on: commands, sections, keys. */
static void each_topic(give_name *give) {
  each_command(give);
  for (size_t i = 0; i < lb_keys_count(); i++)
    if (i == 0 || strcmp(lb_keys_get(i)->section, lb_keys_get(i - 1)->section) != 0)
      give(lb_keys_get(i)->section);
  for (size_t i = 0; i < lb_keys_count(); i++)
    if (!is_repeated(lb_keys_get(i)->name, i))
      give(lb_keys_get(i)->name);
}

/* Words of a table with something between them. */
static void print_words(const char *const *words, const char *between) {
  for (int i = 0; words[i]; i++)
    printf("%s%s", i ? between : "", words[i]);
}

static void bash_list(const char *name, void (*each)(give_name *), const char *more) {
  printf("\n_lastbar_%s='", name);
  each(give_line);
  printf("%s'\n", more);
}

/* What an option's value may be. */
static void bash_value(const struct command *command, const struct option_row *row) {
  printf("    %s,--%s", command->name, row->name);
  if (row->letter)
    printf(" | %s,-%c", command->name, row->letter);
  printf(")");
  if (row->keep == keep_output)
    printf(" compopt -o default 2>/dev/null;");
  if (row->keep == keep_set)
    printf(" compopt -o nospace 2>/dev/null; _lastbar_reply \"$_lastbar_overrides\" =;");
  if (row->words) {
    printf(" _lastbar_reply $'");
    print_words(row->words, "\\n");
    printf("';");
  }
  printf(" return ;;\n");
}

/* The options of a command, and its operand. */
static void bash_words(const struct command *command) {
  printf("    %s,-*) _lastbar_reply $'", command->name);
  for (const struct option_row *row = command->options; row->name; row++)
    printf("%s--%s", row == command->options ? "" : "\\n", row->name);
  printf("' ;;\n");
  if (strcmp(command->operand, "FILE") == 0)
    printf("    %s,*) _lastbar_files ;;\n", command->name);
  if (strcmp(command->operand, "[KEY]") == 0)
    printf("    %s,*) _lastbar_reply \"$_lastbar_topics\" ;;\n", command->name);
  if (strcmp(command->operand, "SHELL") == 0) {
    printf("    %s,*) _lastbar_reply $'", command->name);
    print_words(shells, "\\n");
    printf("' ;;\n");
  }
}

static void print_bash(void) {
  fputs(bash_begin, stdout);
  bash_list("commands", each_command, "\n--help\n--version");
  bash_list("topics", each_topic, "");
  bash_list("overrides", each_override, "");
  fputs(bash_function, stdout);
  for (size_t i = 0; commands[i]; i++)
    for (const struct option_row *row = commands[i]->options; row->name; row++)
      if (row->value)
        bash_value(commands[i], row);
  printf("  esac\n"
         "  case ${COMP_WORDS[1]},$word in\n");
  for (size_t i = 0; commands[i]; i++)
    bash_words(commands[i]);
  fputs(bash_end, stdout);
}

/* A function that completes one of some names. */
static void zsh_list(const char *name, void (*each)(give_name *), const char *how) {
  printf("\n_lastbar_%s() {\n  local -a names=(\n", name);
  each(give_quoted);
  printf("  )\n  compadd %s\"$@\" -a names\n}\n", how);
}

/* A meaning within quotes, its first clause, with what zsh would take for a mark escaped. */
static void zsh_meaning(const char *meaning) {
  size_t length = strcspn(meaning, ";");
  for (const char *at = meaning; at < meaning + length; at++)
    if (*at == '\'')
      printf("'\\''");
    else
      printf("%s%c", *at == '[' || *at == ']' ? "\\" : "", *at);
}

static void zsh_option(const struct option_row *row) {
  printf(" \\\n        ");
  if (row->letter)
    printf("{-%c+,--%s=}", row->letter, row->name);
  printf("'%s", row->keep == keep_set || row->keep == keep_pressure ? "*" : "");
  if (!row->letter)
    printf("--%s%s", row->name, row->value ? "=" : "");
  printf("[");
  zsh_meaning(row->meaning);
  printf("]");
  if (row->keep == keep_set)
    printf(":key:_lastbar_overrides");
  else if (row->keep == keep_output)
    printf(":file:_files");
  else if (row->words) {
    printf(":%s:(", row->name);
    print_words(row->words, " ");
    printf(")");
  } else if (row->value)
    printf(":%s: ", row->name);
  printf("'");
}

static void zsh_command(const struct command *command) {
  printf("    %s)\n      _arguments", command->name);
  for (const struct option_row *row = command->options; row->name; row++)
    zsh_option(row);
  if (strcmp(command->operand, "FILE") == 0)
    printf(" \\\n        '1:machine file:_files -g \"*.ini\"'");
  if (strcmp(command->operand, "[KEY]") == 0)
    printf(" \\\n        '1:key:_lastbar_topics'");
  if (strcmp(command->operand, "SHELL") == 0) {
    printf(" \\\n        '1:shell:(");
    print_words(shells, " ");
    printf(")'");
  }
  printf("\n      ;;\n");
}

static void print_zsh(void) {
  fputs(zsh_begin, stdout);
  zsh_list("topics", each_topic, "");
  zsh_list("overrides", each_override, "-S = ");
  printf("\n_lastbar() {\n  local -a commands=(\n");
  for (size_t i = 0; commands[i]; i++) {
    printf("    '%s:", commands[i]->name);
    zsh_meaning(commands[i]->summary);
    printf("'\n");
  }
  fputs(zsh_function, stdout);
  for (size_t i = 0; commands[i]; i++)
    zsh_command(commands[i]);
  fputs(zsh_end, stdout);
}

static int run(const struct options *options) {
  const char *shell = options->operand[0];
  if (strcmp(shell, "bash") == 0)
    print_bash();
  else if (strcmp(shell, "zsh") == 0)
    print_zsh();
  else
    return message_usage(&command_completion, "'%s' is not one of the shells bash, zsh", shell);
  return ANSWERED;
}

const struct command command_completion = {
    .name = "completion",
    .operand = "SHELL",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "what a shell needs to complete a command line",
    .description =
        "Prints a script for SHELL, bash or zsh, with which the tabulator key completes\n"
        "commands, options, keys of the machine file and files. An installed lastbar has\n"
        "brought them along.\n",
    .example = "lastbar completion bash > lastbar.bash && . ./lastbar.bash",
    .options = rows,
    .run = run,
};
