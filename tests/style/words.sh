#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Words that tell of a place or of a habit we do not have: paths of one machine, hosts of
# package registries, numbers of a tracker, SQL outside store/, the shell from C, floating
# point where a piece, a cent or a bound is decided (seconds may be halves).
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

# This file holds the words it looks for; data and golden files are made by others.
texts() {
	sources "$1" -type f | grep -vE '^(tests/style/words\.sh|tests/data/|tests/golden/)|\.(png|pdf|woff2?|bin)$|corpus/'
}

# code TREE FILE: the file without comments, line numbers kept.
code() {
	"${CC:-cc}" -fpreprocessed -dD -E -w -x c - <"$1/$2" 2>/dev/null | awk -v file="$2" '
		/^# [0-9]+ "/ { line = $2; next }
		{ print file ":" line++ ": " $0 }'
}

places() {
	(cd "$1" && texts . | xargs grep -InE \
		"(^|[^A-Za-z0-9_.\$})/-])/(work|root|home/[a-z]+|tmp/[A-Za-z0-9]|Users)(/|\$|[^A-Za-z0-9_-])" /dev/null |
		sed 's/$/   <- a path of one machine/'
	texts . | xargs grep -InE \
		'registry\.[a-z]+\.(org|com)|deb\.debian\.org|(ftp|snapshot|security)\.debian\.org|proxy\.golang\.org|pypi\.org' /dev/null |
		sed 's/$/   <- a host of a package registry/'
	texts . | xargs grep -InE '\b[Ii]ssues? #?[0-9]+|[ (]#[0-9]+[ ,.)]|\b(TODO|FIXME)\b' /dev/null |
		sed 's/$/   <- the number of a ticket, or work left over/') || true
}

habits() {
	(
		cd "$1" || exit
		sources . -path './daemon/*.[ch]' -o -path './cli/*.[ch]' | while read -r file; do
			code . "$file"
		done >"$scratch/code"
		grep -vE '^daemon/store/' "$scratch/code" |
			grep -E '\bPQ(exec|prepare|send|put|connect)[A-Za-z]*\b|"(SELECT|INSERT INTO|UPDATE|DELETE FROM|CREATE TABLE) ' |
			sed 's/$/   <- SQL outside store/'
		grep -E '\b(system|popen|wordexp|gets|strcpy|strcat|sprintf|strtok|tmpnam|mktemp|alloca)[[:space:]]*\(' \
			"$scratch/code" | sed 's/$/   <- not called here/'
		grep -E '^daemon/(plan|share)/' "$scratch/code" | grep -vE '^daemon/plan/lp[a-z_]*\.[ch]:' |
			grep -E '\b(double|float)\b' | grep -v seconds | sed 's/$/   <- floating point outside the LP/'
		sources . -path './sql/*.sql' | while read -r file; do
			sed 's/--.*//' "$file" | grep -nEi '\b(double precision|real|float[48]?|money)\b' |
				sed "s,^,$file:,; s/\$/   <- not a whole number/"
		done
	) || true
}

tree=$(copy_tree)
mkdir -p "$tree/sql" "$tree/docs"
printf 'see /%s/main/x\n' work >"$tree/docs/planted.md"
must_find "a path of one machine" 'docs/planted\.md:1:.*one machine' places "$tree"
printf 'from %s.%s.org\n' registry npmjs >"$tree/docs/planted.md"
must_find "a host of a registry" 'docs/planted\.md:1:.*package registry' places "$tree"
printf 'as issue %s asks\n' 7 >"$tree/docs/planted.md"
must_find "a ticket" 'docs/planted\.md:1:.*ticket' places "$tree"
printf '/* PQexec( in a comment is nothing */\nint f(void) { return PQexec("x"); }\n' >"$tree/daemon/http/planted.c"
must_find "SQL outside store" 'http/planted\.c:2:.*SQL outside' habits "$tree"
printf '\n\nint f(void) { return system("x"); }\n' >"$tree/daemon/base/planted.c"
must_find "the shell" 'base/planted\.c:3:.*not called here' habits "$tree"
printf 'double f(void) { return 1; }\n' >"$tree/daemon/share/planted.c"
must_find "floating point in share" 'share/planted\.c:1:.*floating point' habits "$tree"
printf 'CREATE TABLE t (x\n double precision); -- real\n' >"$tree/sql/planted.sql"
must_find "floating point in SQL" 'sql/planted\.sql:2:.*whole number' habits "$tree"

must_be_silent "words of a place" places "$SOURCE_DIR"
must_be_silent "habits" habits "$SOURCE_DIR"
finish
