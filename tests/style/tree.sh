#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The folder tree is the architecture: the top level holds what the guide names and nothing
# else, every source carries its licence, and the tour in DEVELOPERS.md names every source.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

permitted=(README.md DEVELOPERS.md LICENSE CMakeLists.txt daemon cli sql tests deploy docs
	.ci .clang-format .clang-tidy .gitignore)
ignored=(.git .build .try)

strangers() {
	local name
	for name in "$1"/* "$1"/.[!.]*; do
		name=${name##*/}
		[[ " ${permitted[*]} ${ignored[*]} " == *" $name "* ]] || [ ! -e "$1/$name" ] ||
			echo "$name: not a name of the top level"
	done
	for name in README.md LICENSE CMakeLists.txt daemon cli sql tests deploy docs; do
		[ -e "$1/$name" ] || echo "$name: missing at the top level"
	done
}

licence() {
	(
		cd "$1" || exit
		sources . -name '*.[ch]' | xargs awk '
			$0 != "/* SPDX-License-Identifier: MIT */" { print FILENAME ": the first line is not the SPDX line" }
			{ nextfile }'
		sources . -name '*.sh' -o -name '*.sql' -o -path './deploy/*' -perm /111 -o -path './tests/*' -perm /111 |
			xargs awk 'FNR == 1 { found = 0 }
				/SPDX-License-Identifier: MIT/ { found = 1 }
				FNR == 3 { if (!found) print FILENAME ": no SPDX line in the first three"; nextfile }'
	)
}

# A header and its source may share a line: "err.[ch]", "err.h, err.c" or either name.
tour() {
	local file name stem
	[ -e "$1/DEVELOPERS.md" ] || return 0
	while read -r file; do
		name=${file##*/}
		stem=${name%.*}
		grep -qE "(^|[^A-Za-z0-9_])${stem//./\\.}\\.(${name##*.}|c|h|\\[ch\\]|\\{c,h\\})([^A-Za-z0-9_]|$)" \
			"$1/DEVELOPERS.md" || echo "$file: has no line in DEVELOPERS.md"
	done < <(sources "$1" -path './daemon/*.[ch]' -o -path './cli/*.[ch]' -o -path './sql/*.sql')
}

tree=$(copy_tree)
mkdir -p "$tree/sql" "$tree/docs"
touch "$tree/notes.txt"
must_find "a stray name" '^notes\.txt: not a name' strangers "$tree"
printf 'int planted;\n' >"$tree/daemon/base/planted_source.c"
must_find "a source without a licence" 'planted_source\.c: the first line' licence "$tree"
printf '#!/bin/sh\n\ntrue\n' >"$tree/deploy/planted"
chmod +x "$tree/deploy/planted"
must_find "a script without a licence" 'deploy/planted: no SPDX' licence "$tree"
echo "err.[ch]  failures are values" >"$tree/DEVELOPERS.md"
must_find "a source that the tour leaves out" 'base/planted_source\.c: has no line' tour "$tree"
must_find "a source that the tour leaves out" '^daemon/base/log\.c: has no line' tour "$tree"
if tour "$tree" | grep -q 'base/err\.[ch]'; then
	echo "the tour names err.[ch], and err is still missed"
	wrong=1
fi

must_be_silent "top level" strangers "$SOURCE_DIR"
must_be_silent "licence" licence "$SOURCE_DIR"
must_be_silent "tour of the source" tour "$SOURCE_DIR"
finish
