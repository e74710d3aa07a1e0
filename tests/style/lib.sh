# shellcheck shell=bash
# SPDX-License-Identifier: MIT
# What the style tests share; sourced, not run.
#
# Each rule is a function that prints what breaks it, one finding a line, for the tree in $1.
# A rule that can never fail is worth nothing: so every test first plants a violation in a
# scratch copy and sees that it is found, then looks at the tree itself.
set -euo pipefail

SOURCE_DIR=${SOURCE_DIR:-$(cd "$(dirname "$0")/../.." && pwd)}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
wrong=0

# sources TREE [find expression...]: the files of the tree that are ours.
sources() {
	local tree=$1
	shift
	(cd "$tree" && find . \( -name .git -o -name .build -o -name .try -o -name node_modules \) -prune \
		-o -type f \( "$@" \) -print | sed 's,^\./,,' | LC_ALL=C sort)
}

# copy_tree: a scratch copy of the sources to plant something in; prints where it is.
copy_tree() {
	local to=$scratch/tree part
	rm -rf "$to"
	mkdir -p "$to"
	for part in CMakeLists.txt README.md LICENSE daemon cli sql deploy docs; do
		[ ! -e "$SOURCE_DIR/$part" ] || cp -R "$SOURCE_DIR/$part" "$to/"
	done
	echo "$to"
}

indent() {
	sed 's/^/    /'
}

# must_find WHAT PATTERN command...: the rule finds the planted violation, by name.
must_find() {
	local what=$1 pattern=$2 found
	shift 2
	found=$("$@" 2>&1) || true
	if ! grep -qE -- "$pattern" <<<"$found"; then
		echo "the rule is blind: it does not find $what (expected /$pattern/), but says:"
		head -n 5 <<<"${found:-nothing}" | indent
		wrong=1
	fi
}

# must_be_silent WHAT command...: the rule holds.
must_be_silent() {
	local what=$1 found rc=0
	shift
	found=$("$@" 2>&1) || rc=$?
	if [ -n "$found" ] || [ $rc -ne 0 ]; then
		echo "$what:"
		indent <<<"${found:-exit status $rc}"
		wrong=1
	fi
}

finish() {
	exit $wrong
}
