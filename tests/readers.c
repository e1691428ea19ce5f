/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files read back; see the header.
 */
#include "readers.h"

#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Replace each "FILE" of a command by a path. */
static void name_file(char *full, size_t size, const char *command, const char *path) {
  size_t used = strlen(full);
  for (const char *at = command; *at; used = strlen(full)) {
    const char *mark = strstr(at, "FILE");
    int plain = mark ? (int)(mark - at) : (int)strlen(at);
    int added = snprintf(full + used, size - used, "%.*s%s", plain, at, mark ? path : "");
    ck_assert_msg(added >= 0 && (size_t)added < size - used, "command too long: %s", command);
    at += plain + (mark ? (int)strlen("FILE") : 0);
  }
}

/* All that a stream has. */
static char *read_all(FILE *stream) {
  size_t length = 0, room = 4096;
  char *text = malloc(room);
  ck_assert_ptr_nonnull(text);
  for (size_t got; (got = fread(text + length, 1, room - length - 1, stream)) > 0;) {
    length += got;
    if (room - length == 1) {
      room *= 2;
      text = realloc(text, room);
      ck_assert_ptr_nonnull(text);
    }
  }
  text[length] = '\0';
  return text;
}

char *readers_run(const char *command, const char *ending, const char *bytes, size_t length) {
  char folder[] = "/tmp/lastbar-readers-XXXXXX", path[64], full[1024];
  ck_assert_ptr_nonnull(mkdtemp(folder));
  snprintf(path, sizeof path, "%s/file%s", folder, ending);
  FILE *file = fopen(path, "wb");
  ck_assert_ptr_nonnull(file);
  ck_assert_uint_eq(fwrite(bytes, 1, length, file), length);
  ck_assert_int_eq(fclose(file), 0);
  snprintf(full, sizeof full, "cd '%s' && exec 2>&1; ", support_source("."));
  name_file(full, sizeof full, command, path);
  FILE *output = popen(full, "r");
  ck_assert_ptr_nonnull(output);
  char *text = read_all(output);
  int status = pclose(output);
  unlink(path);
  rmdir(folder);
  ck_assert_msg(status == 0,
                "'%s' failed (status %d; if it is not there: Debian's python3, python3-ezdxf, "
                "python3-pil, poppler-utils):\n%s",
                command, status, text);
  return text;
}

static void find_numbers(struct readers_line *line) {
  line->numbers = 0;
  for (const char *at = line->text; *at && line->numbers < READERS_NUMBERS;) {
    char *end;
    double number = strtod(at, &end);
    size_t word = strcspn(at, " ");
    if (word > 0 && end == at + word)
      line->number[line->numbers++] = number;
    at += word + (at[word] == ' ');
  }
}

int readers_next(struct readers_line *line, const char **at, const char *words) {
  while (**at) {
    size_t length = strcspn(*at, "\n");
    const char *start = *at;
    *at += length + (start[length] == '\n');
    if (strncmp(start, words, strlen(words)) != 0)
      continue;
    ck_assert_uint_lt(length, sizeof line->text);
    memcpy(line->text, start, length);
    line->text[length] = '\0';
    find_numbers(line);
    return 1;
  }
  return 0;
}

size_t readers_count(const char *output, const char *words) {
  struct readers_line line;
  size_t count = 0;
  for (const char *at = output; readers_next(&line, &at, words);)
    count++;
  return count;
}

struct readers_line readers_first(const char *output, const char *words) {
  struct readers_line line;
  const char *at = output;
  ck_assert_msg(readers_next(&line, &at, words), "no line '%s' in:\n%s", words, output);
  return line;
}
