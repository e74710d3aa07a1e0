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

# code FILE...: the files without their comments, as "file:line: text".
code() {
	"${CC:-cc}" -fpreprocessed -dD -E -w -x c "$@" 2>/dev/null | awk '
		/^# [0-9]+ "/ { line = $2; file = $3; gsub(/"/, "", file); next }
		{ print file ":" line++ ": " $0 }'
}

places() {
	(cd "$1" && texts . | xargs grep -InE \
		"(^|[^A-Za-z0-9_.\$})/|\\\\-])/(work|root|home/[a-z]+|tmp/[A-Za-z0-9]|Users)(/|\$|[^A-Za-z0-9_-])" /dev/null |
		sed 's/$/   <- a path of one machine/'
	texts . | xargs grep -InE \
		'registry\.[a-z]+\.(org|com)|deb\.debian\.org|(ftp|snapshot|security)\.debian\.org|proxy\.golang\.org|pypi\.org' /dev/null |
		sed 's/$/   <- a host of a package registry/'
	texts . | xargs grep -InE '\b[Ii]ssues? #?[0-9]+|[ (]#[0-9]+[ ,.)]|\b(TODO|FIXME)\b' /dev/null |
		sed 's/$/   <- the number of a ticket, or work left over/') || true
}

# Files of plan/ that talk to an LP, which counts in floating point: whoever includes lp.h, simplex.h
# or cuts.h (which looks for cuts at an LP's answer), by way of other headers too.  What an LP said
# is decided by whole numbers again, in the files beside.
beside_lp() {
	local seeds='lp\.h simplex\.h cuts\.h' headers known=""
	headers=${seeds// /|}
	while [ "$headers" != "$known" ]; do
		known=$headers
		headers=$({
			tr ' ' '\n' <<<"$seeds"
			grep -lE "#include \"($known)\"" daemon/plan/*.h 2>/dev/null | sed 's,.*/,,; s/\./\\./'
		} | sort -u | paste -sd '|')
	done
	{
		printf 'daemon/plan/%s\n' {lp,simplex,cuts}.{c,h}
		grep -lE "#include \"($headers)\"" daemon/plan/*.[ch] 2>/dev/null
	} | sed 's/$/:/'
}

habits() {
	(
		cd "$1" || exit
		mapfile -t files < <(sources . -path './daemon/*.[ch]' -o -path './cli/*.[ch]')
		code "${files[@]}" >"$scratch/code"
		grep -vE '^daemon/store/' "$scratch/code" |
			grep -E '\bPQ(exec|prepare|send|put|connect)[A-Za-z]*\b|"(SELECT|INSERT INTO|UPDATE|DELETE FROM|CREATE TABLE) ' |
			sed 's/$/   <- SQL outside store/'
		grep -E '\b(system|popen|wordexp|gets|strcpy|strcat|sprintf|strtok|tmpnam|mktemp|alloca)[[:space:]]*\(' \
			"$scratch/code" | sed 's/$/   <- not called here/'
		grep -E '^daemon/(plan|share)/' "$scratch/code" | grep -vFf <(beside_lp) |
			grep -E '\b(double|float)\b' | grep -v seconds | sed 's/$/   <- floating point outside the LP/'
		sources . -path './sql/*.sql' | while read -r file; do
			sed 's/--.*//' "$file" | grep -nEi '\b(double precision|real|float[48]?|money)\b' |
				sed "s,^,$file:,; s/\$/   <- not a whole number/"
		done
	) || true
}

tree=$scratch/tree
mkdir -p "$tree"/{sql,docs} "$tree"/daemon/{base,http,share,plan}
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
printf '#include "lp.h"\ndouble f(void) { return 1; }\n' >"$tree/daemon/plan/solver.c"
printf 'float f(void) { return 1; }\n' >"$tree/daemon/plan/planted.c"
must_find "floating point in plan" 'plan/planted\.c:1:.*floating point' habits "$tree"
if habits "$tree" | grep -q 'solver\.c'; then
	echo "what talks to the LP may count as it does, and is refused"
	wrong=1
fi
printf 'CREATE TABLE t (x\n double precision); -- real\n' >"$tree/sql/planted.sql"
must_find "floating point in SQL" 'sql/planted\.sql:2:.*whole number' habits "$tree"

must_be_silent "words of a place" places "$SOURCE_DIR"
must_be_silent "habits" habits "$SOURCE_DIR"
finish
