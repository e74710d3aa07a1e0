#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Every header is complete on its own, guards itself, and is the first include of its own .c.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

own_headers() {
	sources "$1" -path './daemon/*.h' -o -path './cli/*.h' -o -path './tests/support/*.h'
}

# Includes of our folders and of the outside libraries, as the compiler gets them.
include_flags() {
	local dir
	for dir in "$1"/daemon/*/ "$1"/cli/ "$1"/tests/support/; do
		if [ -d "$dir" ]; then echo "-I$dir"; fi
	done
	pkg-config --cflags libevent libpq openssl jansson cairo pangocairo libcurl libqrencode clp |
		tr ' ' '\n' | sed 's/^-I/-isystem/' | grep .
}

# Compiled twice in one file: what is missing and what is not guarded both show.
alone() {
	local tree=$1 header flags
	mapfile -t flags < <(include_flags "$tree")
	while read -r header; do
		printf '#include "%s"\n#include "%s"\ntypedef int not_empty;\n' \
			"$tree/$header" "$tree/$header" >"$scratch/alone.c"
		"${CC:-cc}" -std=gnu17 -D_GNU_SOURCE -fsyntax-only -Wall -Wextra -Werror "${flags[@]}" \
			"$scratch/alone.c" 2>&1 | sed -n "s,^.*\(error: .*\),$header: \1,p" | head -3
	done < <(own_headers "$tree")
}

first_include() {
	local tree=$1 header source first
	while read -r header; do
		source=${header%.h}.c
		[ -e "$tree/$source" ] || continue
		first=$(sed -nE 's/^[[:space:]]*#[[:space:]]*include[[:space:]]*["<]([^">]+)[">].*/\1/p' \
			"$tree/$source" | sed -n 1p)
		if [ "$first" != "${header##*/}" ]; then
			echo "$source: includes $first before its own ${header##*/}"
		fi
	done < <(own_headers "$tree")
}

tree=$scratch/tree
mkdir -p "$tree/daemon/base"
printf '#ifndef A_H\n#define A_H\nbool f(void);\n#endif\n' >"$tree/daemon/base/needs.h"
printf 'struct twice { int x; };\n' >"$tree/daemon/base/twice.h"
printf '#include <stdio.h>\n#include "needs.h"\n' >"$tree/daemon/base/needs.c"
must_find "a header that needs another" 'base/needs\.h: error: unknown type' alone "$tree"
must_find "a header without a guard" 'base/twice\.h: error: redefinition' alone "$tree"
must_find "an own header that is second" 'base/needs\.c: includes stdio\.h before' first_include "$tree"

must_be_silent "headers that are not complete" alone "$SOURCE_DIR"
must_be_silent "own header not first" first_include "$SOURCE_DIR"
finish
