#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every C file is laid out as .clang-format says. Without clang-format the test is skipped, unless
# LASTBAR_STRICT is set.
set -eu

here=${LASTBAR_SOURCE:-$(cd "$(dirname "$0")/.." && pwd)}
if ! command -v clang-format >/dev/null; then
  echo 'clang-format is not there'
  [ -z "${LASTBAR_STRICT:-}" ] || exit 1
  exit 77
fi
cd "$here"
files=$(find lib cli tests -name '*.[ch]')
echo "$files" | wc -l
# shellcheck disable=SC2086 # one word a file; none has blanks
clang-format --dry-run -Werror $files
