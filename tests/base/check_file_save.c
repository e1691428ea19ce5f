/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files that appear whole or not at all: modes, links, signals, and every way to fail.
 */
#include "base/file_save.h"
#include "support.h"

#include <dirent.h>
#include <errno.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

enum {
  NOBODY = 65534 /* a user without rights, for tests run as root */
};

/* A folder of our own for files; the path of one in it stays until the next is asked for. */
static char folder[64];

static void folder_make(void) {
  strcpy(folder, "/tmp/lastbar-check-XXXXXX");
  ck_assert_ptr_nonnull(mkdtemp(folder));
}

static const char *in_folder(const char *name) {
  static char path[512];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

static int folder_count(void) {
  int count = 0;
  DIR *directory = opendir(folder);
  ck_assert_ptr_nonnull(directory);
  while (readdir(directory))
    count++;
  closedir(directory);
  return count - 2; /* . and .. */
}

static void folder_remove(void) {
  DIR *directory = opendir(folder);
  for (struct dirent *item; directory && (item = readdir(directory));)
    unlink(in_folder(item->d_name));
  if (directory)
    closedir(directory);
  rmdir(folder);
}

static void file_write(const char *path, const char *bytes) {
  FILE *file = fopen(path, "wb");
  ck_assert_ptr_nonnull(file);
  ck_assert_int_ge(fputs(bytes, file), 0);
  ck_assert_int_eq(fclose(file), 0);
}

static void check_file(const char *path, const char *expected) {
  char bytes[256];
  FILE *file = fopen(path, "rb");
  ck_assert_msg(file != NULL, "%s is missing", path);
  bytes[fread(bytes, 1, sizeof bytes - 1, file)] = '\0';
  fclose(file);
  ck_assert_str_eq(bytes, expected);
}

static mode_t mode_of(const char *path) {
  struct stat status;
  ck_assert_int_eq(stat(path, &status), 0);
  return status.st_mode & 07777;
}

/* Act as a user without rights when the test runs as root; returns whether that is so. */
static bool rights_drop(void) {
  return geteuid() == 0 && seteuid(NOBODY) == 0;
}

static void rights_regain(bool dropped) {
  if (dropped)
    ck_assert_int_eq(seteuid(0), 0);
}

static void check_unsaved(const char *path, const char *message) {
  struct lb_error error;
  ck_assert_int_eq(lb_file_save(path, "new bytes\n", 10, &error), LB_IO);
  ck_assert_str_eq(error.text, message);
  ck_assert_int_eq(error.status, LB_IO);
  ck_assert_ptr_eq(error.file, path);
  ck_assert_int_eq(error.line, 0);
  ck_assert_int_eq(lb_file_save(path, "new bytes\n", 10, NULL), LB_IO);
}

START_TEST(test_save_a_new_file) {
  mode_t before = umask(0027);
  ck_assert_int_eq(lb_file_save(in_folder("a.ini"), "a\0b", 3, NULL), LB_OK);
  ck_assert_int_eq(umask(before), 0027);
  ck_assert_uint_eq(mode_of(in_folder("a.ini")), 0640);
  ck_assert_int_eq(lb_file_save(in_folder("b.ini"), "", 0, NULL), LB_OK);
  check_file(in_folder("b.ini"), "");
  struct stat status;
  ck_assert_int_eq(stat(in_folder("a.ini"), &status), 0);
  ck_assert_int_eq(status.st_size, 3);
  ck_assert_int_eq(folder_count(), 2);
}
END_TEST

START_TEST(test_save_in_the_current_folder) {
  char before[4096];
  ck_assert_ptr_nonnull(getcwd(before, sizeof before));
  ck_assert_int_eq(chdir(folder), 0);
  enum lb_status status = lb_file_save("a.ini", "new", 3, NULL);
  ck_assert_int_eq(chdir(before), 0);
  ck_assert_int_eq(status, LB_OK);
  check_file(in_folder("a.ini"), "new");
}
END_TEST

START_TEST(test_save_over_a_file) {
  static const mode_t mode[] = {0600, 0644, 0666, 0755, 0440};
  const char *path = in_folder("a.ini");
  for (size_t i = 0; i < COUNT(mode); i++) {
    unlink(path);
    file_write(path, "old and longer");
    ck_assert_int_eq(chmod(path, mode[i]), 0);
    ck_assert_int_eq(lb_file_save(path, "new", 3, NULL), LB_OK);
    check_file(path, "new");
    ck_assert_uint_eq(mode_of(path), mode[i]);
  }
  ck_assert_int_eq(folder_count(), 1);
}
END_TEST

START_TEST(test_save_through_a_link) {
  file_write(in_folder("a.ini"), "old");
  ck_assert_int_eq(symlink("a.ini", in_folder("link.ini")), 0);
  ck_assert_int_eq(lb_file_save(in_folder("link.ini"), "new", 3, NULL), LB_OK);
  check_file(in_folder("a.ini"), "new");
  struct stat status;
  ck_assert_int_eq(lstat(in_folder("link.ini"), &status), 0);
  ck_assert(S_ISLNK(status.st_mode));
  ck_assert_int_eq(folder_count(), 2);
}
END_TEST

START_TEST(test_save_leaves_signals_as_they_were) {
  sigset_t mine, after;
  sigemptyset(&mine);
  sigaddset(&mine, SIGTERM);
  ck_assert_int_eq(sigprocmask(SIG_SETMASK, &mine, NULL), 0);
  ck_assert_int_eq(lb_file_save(in_folder("a.ini"), "new", 3, NULL), LB_OK);
  ck_assert_int_eq(sigprocmask(SIG_BLOCK, NULL, &after), 0);
  ck_assert_int_eq(sigismember(&after, SIGTERM), 1);
  ck_assert_int_eq(sigismember(&after, SIGINT), 0);
  sigemptyset(&mine);
  sigprocmask(SIG_SETMASK, &mine, NULL);
}
END_TEST

START_TEST(test_save_is_refused) {
  check_unsaved(
      in_folder("none/a.ini"),
      "cannot be written (No such file or directory); check the name and the rights to it");
  check_unsaved(folder, "not an ordinary file; give the name of one");
  check_unsaved("/dev/null", "not an ordinary file; give the name of one");
  char name[261] = "";
  memset(name, 'x', sizeof name - 1);
  check_unsaved(in_folder(name),
                "cannot be written (File name too long); check the name and the rights to it");
  ck_assert_int_eq(folder_count(), 0);
}
END_TEST

START_TEST(test_save_without_rights) {
  file_write(in_folder("a.ini"), "old");
  ck_assert_int_eq(chmod(folder, 0555), 0);
  bool dropped = rights_drop();
  check_unsaved(in_folder("a.ini"),
                "cannot be written (Permission denied); check the name and the rights to it");
  check_unsaved(in_folder("b.ini"),
                "cannot be written (Permission denied); check the name and the rights to it");
  rights_regain(dropped);
  ck_assert_int_eq(chmod(folder, 0755), 0);
  check_file(in_folder("a.ini"), "old");
  ck_assert_int_eq(folder_count(), 1);
}
END_TEST

/* A disc that is full is played by a limit on the size of files. */
START_TEST(test_save_without_room) {
  file_write(in_folder("a.ini"), "old");
  struct rlimit before, small;
  ck_assert_int_eq(getrlimit(RLIMIT_FSIZE, &before), 0);
  small = (struct rlimit){.rlim_cur = 4, .rlim_max = before.rlim_max};
  void (*handler)(int) = signal(SIGXFSZ, SIG_IGN);
  ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
  struct lb_error error;
  enum lb_status status = lb_file_save(in_folder("a.ini"), "new bytes\n", 10, &error);
  enum lb_status fresh = lb_file_save(in_folder("b.ini"), "new bytes\n", 10, NULL);
  ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &before), 0);
  signal(SIGXFSZ, handler);
  ck_assert_int_eq(status, LB_IO);
  ck_assert_int_eq(fresh, LB_IO);
  ck_assert_str_eq(error.text,
                   "cannot be written (File too large); check the name and the rights to it");
  check_file(in_folder("a.ini"), "old");
  ck_assert_int_eq(folder_count(), 1);
}
END_TEST

START_TEST(test_refusal_in_words) {
  struct lb_error error;
  ck_assert_int_eq(lb_file_refused(&error, "a.csv", "cannot be read", ENOENT), LB_IO);
  ck_assert_int_eq(error.status, LB_IO);
  ck_assert_str_eq(
      error.text,
      "cannot be read (No such file or directory); check the name and the rights to it");
  ck_assert_str_eq(error.file, "a.csv");
  ck_assert_int_eq(lb_file_refused(NULL, "a.csv", "cannot be read", ENOENT), LB_IO);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("base/file_save");
  TCase *tests = tcase_create("files");
  tcase_add_checked_fixture(tests, folder_make, folder_remove);
  tcase_add_test(tests, test_save_a_new_file);
  tcase_add_test(tests, test_save_in_the_current_folder);
  tcase_add_test(tests, test_save_over_a_file);
  tcase_add_test(tests, test_save_through_a_link);
  tcase_add_test(tests, test_save_leaves_signals_as_they_were);
  tcase_add_test(tests, test_save_is_refused);
  tcase_add_test(tests, test_save_without_rights);
  tcase_add_test(tests, test_save_without_room);
  tcase_add_test(tests, test_refusal_in_words);
  suite_add_tcase(suite, tests);
  return support_run(suite, NULL);
}
