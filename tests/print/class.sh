#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# A large class on paper: 750 sheets of 40 members, a dozen rolls and more.  Any page that is found on
# the floor says where it belongs, and the index finds every strip and every member.
set -euo pipefail
: "${BUILD_DIR:?}" "${SOURCE_DIR:?}"
export FONTCONFIG_FILE=$SOURCE_DIR/tests/print/fonts.conf
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
fail() {
	echo "class: $*"
	exit 1
}

# Sizes as classes ask for them, with their tape margin; the counts come from a fixed rule.
awk 'BEGIN {
	split("9 1/2 in|12 1/2 in|11 1/2 in|15 1/2 in|15 1/2 in|22 1/2 in|8 in|10 in|12 in|16 in|22 1/2 in|30 1/2 in", s, "|")
	printf "{\"stages\": 2, \"seconds\": 600, \"stock\": [{\"name\": \"fresh roll\", \"width\": \"45 in\", \"length\": \"10 yd\", \"price\": 16200, \"available\": null}],\n\"pieces\": ["
	for (left = 750; left > 0; left -= n) {
		i++; n = 3 + i * 7 % 11; if (n > left) n = left
		k = i * 5 % 6
		printf "%s\n{\"name\": \"p%d\", \"across\": \"%s\", \"along\": \"%s\", \"count\": %d, \"turn\": %s}",
			(i > 1 ? "," : ""), i, s[2 * k + 1], s[2 * k + 2], n, (i % 3 ? "true" : "false")
		owners = owners (i > 1 ? ", " : "") ((i - 1) % 40)
	}
	print "]}"
	printf "%s", owners > "'"$out"'/owners"
}' >"$out/problem.json"
"$BUILD_DIR/plan_case" <"$out/problem.json" >"$out/plan.json"
jq -n --argjson owners "[$(cat "$out/owners")]" '{studio: "Studio at the Mill", workshop: "A whole school paints", number: 12,
	made: "2026-06-01T09:00:00Z", system: "inch", straightedge: "36 in", table: "96 in", keep: "6 in",
	members: [range(40) | "Name\(. + 1)"],
	papers: [{name: "cold press 300", grams: 300, problem: "problem.json", plan: "plan.json", owners: $owners}]}' >"$out/case.json"
[ "$(jq '[.pieces[].count] | add' "$out/problem.json")" -eq 750 ] || fail "not 750 sheets"
rolls=$(jq '.rolls | length' "$out/plan.json")
[ "$rolls" -ge 12 ] || fail "only $rolls rolls"

"$BUILD_DIR/print_case" "$out" pdf >"$out/a.pdf"
"$BUILD_DIR/print_case" "$out" pdf >"$out/b.pdf"
cmp "$out/a.pdf" "$out/b.pdf" || fail "two runs differ"
qpdf --check "$out/a.pdf" >"$out/check" 2>&1 || fail "$(cat "$out/check")"
pages=$(pdfinfo "$out/a.pdf" | awk '/^Pages/ { print $2 }')
pdftotext -layout "$out/a.pdf" "$out/a.txt"
check=$("$BUILD_DIR/print_case" "$out" json | jq -r .check)
awk -v RS='\f' -v pages="$pages" -v check="Plan 12, check $check" 'NF {
	n++
	if (index($0, check) == 0) { print "page " n " does not name its plan"; bad = 1 }
	if (index($0, "A whole school paints") == 0) { print "page " n " does not name its workshop"; bad = 1 }
	if (index($0, "page " n " of " pages) == 0) { print "page " n " is not numbered"; bad = 1 }
} END { exit bad || n != pages }' "$out/a.txt" || fail "pages"

# The index: each strip's page is the page with its heading, each member has pages.
awk -v RS='\f' -v out="$out" 'NF { n++; print > (out "/page-" n) }' "$out/a.txt"
grep -hoE 'Page [0-9]+: roll [0-9]+, strips? [0-9]+(-[0-9]+)?' "$out/a.txt" >"$out/index"
strips=$(jq '[.rolls[].strips | length] | add' "$out/plan.json")
told=0
while read -r _ page _ roll what strip; do
	page=${page%:} roll=${roll%,}
	grep -qE "Roll $roll, $what $strip:" "$out/page-$page" || fail "roll $roll $what $strip is not on page $page"
	first=${strip%-*} last=${strip#*-}
	told=$((told + last - first + 1))
done <"$out/index"
[ "$told" -eq "$strips" ] || fail "$told strips in the index, $strips in the plan"
codes=$("$BUILD_DIR/print_case" "$out" json | jq -r '.hands[].code')
[ "$(echo "$codes" | sort -u | wc -l)" -eq 40 ] || fail "not 40 different codes"
for code in $codes; do
	[ "$(grep -cE "^ *$code: page [0-9 ]+" "$out/a.txt")" -eq 1 ] || fail "code $code is not once in the index"
done
! echo "$codes" | grep -q '[0O1Il5S8BZ]' || fail "a code can be misread: $codes"

# Labels: one for each request of each member, none lost.
"$BUILD_DIR/print_case" "$out" labels letter >"$out/labels.pdf"
pdftotext "$out/labels.pdf" - | grep -cE '^× *[0-9]+$' >"$out/n" || true
[ "$(cat "$out/n")" -eq "$(jq '.pieces | length' "$out/problem.json")" ] || fail "$(cat "$out/n") labels"
echo "class: all well, $rolls rolls, $strips strips, $pages pages"
