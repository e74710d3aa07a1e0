#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The sheets of tests/golden are printed as they were when somebody last looked at them.
set -euo pipefail
: "${BUILD_DIR:?}" "${SOURCE_DIR:?}"
export FONTCONFIG_FILE=$SOURCE_DIR/tests/print/fonts.conf
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
bad=0
n=0
for folder in "$SOURCE_DIR"/tests/golden/*/; do
	[ -f "$folder/case.json" ] || continue
	for form in text:sheet.txt commands:canvas.txt; do
		"$BUILD_DIR/print_case" "$folder" "${form%%:*}" >"$out/now"
		if ! diff -u "$folder/${form#*:}" "$out/now" >"$out/diff"; then
			bad=1
			echo "$folder${form#*:} is printed differently (tests/golden/renew after looking):"
			head -40 "$out/diff"
		fi
		n=$((n + 1))
	done
done
[ "$n" -ge 4 ] || { echo "only $n golden files were compared"; exit 1; }
exit $bad
