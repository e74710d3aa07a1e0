#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# clang-tidy 14 on every source of the daemon and the command line; .clang-tidy holds the list.
# It reads the compile commands of a clang build, so it belongs to the fuzz variant.
#
# The checks that follow paths through a function (clang-analyzer-*) take minutes over the tree,
# and gcc's -fanalyzer, which deploy/check builds with, follows them too: TIDY=whole adds them.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

# tidy CHECKS TREE COMMANDS FILE...
tidy() {
	local checks=$1 tree=$2 commands=$3 tool=clang-tidy-14
	shift 3
	command -v "$tool" >/dev/null || tool=clang-tidy
	(cd "$tree" && printf '%s\n' "$@" | xargs -r -n 4 -P 2 "$tool" -p "$commands" --quiet --checks="$checks" 2>/dev/null |
		grep -E ': (error|warning): ') || true
}

mkdir -p "$scratch/tree/daemon"
cp "$SOURCE_DIR/.clang-tidy" "$scratch/tree/"
printf 'int f(int *p) { if (p) return 1; return *p; }\n' >"$scratch/tree/daemon/planted.c"
printf '[{"directory": "%s", "file": "daemon/planted.c", "command": "cc -c daemon/planted.c"}]\n' \
	"$scratch/tree" >"$scratch/compile_commands.json"
must_find "a null pointer followed" 'planted\.c:1:.*[nN]ull' tidy "" "$scratch/tree" "$scratch" daemon/planted.c

mapfile -t files < <(sources "$SOURCE_DIR" -path './daemon/*.c' -o -path './cli/*.c')
checks='-clang-analyzer-*'
[ "${TIDY:-}" != whole ] || checks=
must_be_silent "clang-tidy" tidy "$checks" "$SOURCE_DIR" "${BUILD_DIR:?}" "${files[@]}"
finish
