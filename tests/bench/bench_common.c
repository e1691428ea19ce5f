/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Machine, clock and a planted allocation.
 */
#include "bench_common.h"

#include "allocations.h"

#include "base/textfile.h"
#include "machine/read.h"
#include "stroke/cycle.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

bool bench_read_machine(struct lb_machine *machine, const char *path) {
  struct lb_textfile *text = NULL;
  struct lb_errors errors = {0};
  bool read = lb_textfile_read(&text, path, &errors) == LB_OK &&
              lb_machine_read(machine, NULL, text, &errors) == LB_OK;
  for (size_t i = 0; i < errors.count; i++)
    fprintf(stderr, "bench: %s:%d: %s %s\n", path, errors.item[i].line, errors.item[i].key,
            errors.item[i].text);
  lb_errors_free(&errors);
  lb_textfile_free(text);
  return read;
}

double bench_processor_time(void) {
  struct timespec t;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int later(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

void bench_sort(double *time, int count) {
  qsort(time, (size_t)count, sizeof *time, later);
}

bool bench_sees_allocations(void) {
  unsigned long before = allocations_count();
  lb_cycle_free(lb_cycle_new());
  if (allocations_count() > before)
    return true;
  fprintf(stderr,
          "bench: allocations inside the library are not seen here (a sanitizer, valgrind?)\n");
  return false;
}
