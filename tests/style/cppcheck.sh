#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# cppcheck 2.10, warnings and portability, on the daemon and the command line.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

# It reads no system headers, so the loop of <sys/queue.h> is told.  glibc's NULL is a pointer and
# may end a list of arguments (varFuncNullUB); the users are looked up before the first thread.
printf '#define TAILQ_FOREACH(v, h, f) for ((v) = (h)->tqh_first; (v); (v) = (v)->f.tqe_next)\n' \
	>"$scratch/queue.h"
analysis() {
	local tree=$1 dir dirs=()
	for dir in daemon cli; do
		if [ -d "$tree/$dir" ]; then dirs+=("$dir"); fi
	done
	(cd "$tree" && for dir in daemon/*/ cli/; do
		if [ -d "$dir" ]; then echo "-I$dir"; fi
	done | xargs cppcheck -q -j2 --std=c11 --platform=unix64 --enable=warning,portability \
		--inline-suppr --library=posix --suppress=varFuncNullUB \
		--suppress=getpwnamCalled --suppress=getpwuidCalled --error-exitcode=1 \
		--template='{file}:{line}: {id}: {message}' \
		-D_GNU_SOURCE -D__GNUC__=12 \
		--include="$scratch/queue.h" "${dirs[@]}" 2>&1)
}

mkdir -p "$scratch/tree/daemon/base"
printf '#include <stdlib.h>\nint f(void) { char *p = malloc(4); p[4] = 1; return 0; }\n' \
	>"$scratch/tree/daemon/base/planted.c"
must_find "a write past the end" 'base/planted\.c:2: arrayIndexOutOfBounds' analysis "$scratch/tree"

must_be_silent "cppcheck" analysis "$SOURCE_DIR"
finish
