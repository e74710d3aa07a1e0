#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# clang-format 14 settles the layout of every .c and .h, scripts are clean under shellcheck.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

# Debian 12's clang-format is 14; other versions lay out some lines differently.
layout() {
	local tool=clang-format-14
	command -v "$tool" >/dev/null || tool=clang-format
	(cd "$1" && sources . -name '*.[ch]' | xargs -r "$tool" --dry-run -Werror 2>&1 |
		sed -n 's/^\([^: ]*:[0-9]*:[0-9]*\): error: .*/\1: clang-format would lay this out otherwise/p' |
		awk -F: '!seen[$1]++')
}

# Left out: SC2317 calls functions unreachable that are passed by name, SC1091 is about sourced
# files that it is not given, SC2016 warns of a $ in single quotes, where ours are meant so.
scripts() {
	(cd "$1" && sources . -type f | while read -r file; do
		if head -c 64 "$file" | head -1 | tr -d '\0' | grep -qE '^#!.*\b(bash|sh)\b'; then
			echo "$file"
		fi
	done | xargs -r shellcheck -x -e SC2317,SC1091,SC2016 -f gcc)
}

tree=$scratch/tree
mkdir -p "$tree"/daemon/base "$tree"/deploy
cp "$SOURCE_DIR/.clang-format" "$tree/"
printf 'int  f( void ){return 1 ;}\n' >"$tree/daemon/base/planted.c"
must_find "a badly laid out file" 'base/planted\.c:1' layout "$tree"
printf '#!/bin/bash\nrm -rf $1/$2\n' >"$tree/deploy/planted"
must_find "an unquoted variable" 'deploy/planted:2.*SC2086' scripts "$tree"

must_be_silent "layout (clang-format -i mends it)" layout "$SOURCE_DIR"
must_be_silent "shellcheck" scripts "$SOURCE_DIR"
finish
