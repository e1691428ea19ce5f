/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A draft beside the target takes its place by rename, which the system does whole or not at all.
 */
#define _XOPEN_SOURCE 700 /* realpath */

#include "base/file_save.h"

#include "base/format.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
  REASON_MOST = 128, /* bytes of the system's reason in a message */
  NOT_ORDINARY = -1  /* beside the system's error numbers: a folder, a device, a pipe */
};

enum lb_status lb_file_refused(struct lb_error *error, const char *path, const char *what,
                               int number) {
  char reason[REASON_MOST];
  if (strerror_r(number, reason, sizeof reason) != 0)
    lb_format(reason, sizeof reason, "error %d", number);
  lb_error_set(error, LB_IO, "%s (%s); check the name and the rights to it", what, reason);
  if (error)
    error->file = path;
  return LB_IO;
}

/* Open a new file of an unpredictable name; the template in path becomes that name. With an old
 * file to replace it gets its mode, else the one that any new file of this process gets: only the
 * system can say which, so the name is given back and taken again. */
static int draft_open(char *path, const struct stat *old) {
  const mode_t everyone = S_IRUSR | S_IWUSR | S_IRGRP | S_IWGRP | S_IROTH | S_IWOTH;
  int file = mkstemp(path);
  if (file < 0)
    return -1;
  if (old && fchmod(file, old->st_mode & (S_IRWXU | S_IRWXG | S_IRWXO)) == 0)
    return file;
  int number = errno;
  close(file);
  unlink(path);
  errno = number;
  return old ? -1 : open(path, O_WRONLY | O_CREAT | O_EXCL, everyone);
}

static bool write_all(int file, const char *bytes, size_t length) {
  while (length > 0) {
    ssize_t written = write(file, bytes, length);
    if (written < 0 && errno != EINTR)
      return false;
    if (written > 0) {
      bytes += written;
      length -= (size_t)written;
    }
  }
  return fsync(file) == 0;
}

/* Fill the draft and let it take the place of the target; 0 or the system's error number, and then
 * the draft is gone. */
static int draft_finish(int file, const char *draft, const char *target, const char *bytes,
                        size_t length) {
  int number = write_all(file, bytes, length) ? 0 : errno;
  if (close(file) != 0 && number == 0)
    number = errno;
  if (number == 0 && rename(draft, target) != 0)
    number = errno;
  if (number != 0)
    unlink(draft);
  return number;
}

/* 0, the system's error number, or NOT_ORDINARY. */
static int target_write(const char *target, const char *bytes, size_t length) {
  static const char pattern[] = ".lastbar-XXXXXX";
  struct stat old;
  bool exists = stat(target, &old) == 0;
  if (exists && !S_ISREG(old.st_mode))
    return NOT_ORDINARY;
  const char *slash = strrchr(target, '/');
  size_t folder = slash ? (size_t)(slash - target) + 1 : 0;
  char *draft = malloc(folder + sizeof pattern);
  if (!draft)
    return ENOMEM;
  memcpy(draft, target, folder);
  memcpy(draft + folder, pattern, sizeof pattern);
  int file = draft_open(draft, exists ? &old : NULL);
  int number = file < 0 ? errno : draft_finish(file, draft, target, bytes, length);
  free(draft);
  return number;
}

/* A link is followed, so that it stays one. An interruption waits until the draft is gone. */
enum lb_status lb_file_save(const char *path, const char *bytes, size_t length,
                            struct lb_error *error) {
  sigset_t interruptions, before;
  sigemptyset(&interruptions);
  sigaddset(&interruptions, SIGINT);
  sigaddset(&interruptions, SIGTERM);
  sigaddset(&interruptions, SIGHUP);
  pthread_sigmask(SIG_BLOCK, &interruptions, &before);
  char *target = realpath(path, NULL);
  int number = target_write(target ? target : path, bytes, length);
  free(target);
  pthread_sigmask(SIG_SETMASK, &before, NULL);
  if (number == 0)
    return LB_OK;
  if (number != NOT_ORDINARY)
    return lb_file_refused(error, path, "cannot be written", number);
  lb_error_set(error, LB_IO, "not an ordinary file; give the name of one");
  if (error)
    error->file = path;
  return LB_IO;
}
