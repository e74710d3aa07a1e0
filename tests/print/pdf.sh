#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# A PDF seen from outside: sound, every font embedded, real text, exact page size, named,
# in a language, with an outline, and the same bytes each time.
# Page sizes: A4 is 210 x 297 mm (ISO 216), Letter 8 1/2 x 11 in (ANSI/ASME Y14.1 size A).
set -euo pipefail
: "${BUILD_DIR:?}" "${SOURCE_DIR:?}"
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
case=$SOURCE_DIR/tests/golden/first-class
fail() {
	echo "pdf: $*"
	exit 1
}

check_pdf() { # name, page size as pdfinfo writes it, options of print_case
	local pdf=$out/$1.pdf size=$2
	shift 2
	"$BUILD_DIR/print_case" "$case" pdf "$@" >"$pdf"
	qpdf --check "$pdf" >"$out/check" 2>&1 || { cat "$out/check"; fail "not sound"; }
	grep -q "No syntax or stream encoding errors" "$out/check" || fail "$(cat "$out/check")"
	# the last columns are: emb sub uni object ID
	pdffonts "$pdf" | awk 'NR > 2 { n++; if ($(NF - 4) != "yes") bad = 1 } END { exit bad || !n }' ||
		fail "a font is not embedded"
	pdfinfo "$pdf" >"$out/info"
	grep -q "^Page size: *$size" "$out/info" || fail "page size: $(grep 'Page size' "$out/info")"
	grep -q "^Title: *Tear sheet, plan 17" "$out/info" || fail "no title"
	grep -q "^CreationDate: *.*2026" "$out/info" || fail "creation date: $(grep Creation "$out/info")"
	qpdf --qdf --object-streams=disable "$pdf" "$out/plain.pdf"
	grep -aq "/Lang (en)" "$out/plain.pdf" || fail "no language"
	grep -aq "/Outlines" "$out/plain.pdf" || fail "no outline"
	! strings "$out/plain.pdf" | grep -E "$(hostname)|/home/|/root/|$(id -un)@" ||
		fail "says something of the machine"
	"$BUILD_DIR/print_case" "$case" pdf "$@" >"$out/again.pdf"
	cmp "$pdf" "$out/again.pdf" || fail "two runs differ"
}

check_pdf a4 "595.276 x 841.89 pts (A4)"
check_pdf letter "612 x 792 pts (letter)" letter
check_pdf large "595.276 x 841.89 pts (A4)" large

"$BUILD_DIR/print_case" "$SOURCE_DIR/tests/golden/german" pdf >"$out/german.pdf"
qpdf --qdf --object-streams=disable "$out/german.pdf" "$out/plain.pdf"
grep -aq "/Lang (de)" "$out/plain.pdf" || fail "a German sheet does not say that it is German"

# Every code is there as text: in each piece of the picture, at its step and in the pick list.
pdftotext -layout "$out/a4.pdf" "$out/a4.txt"
for code in A C D E; do
	grep -qE "(^| )$code( |\$)" "$out/a4.txt" || fail "code $code cannot be found"
done
# On the pictures of the rolls each piece carries its code once: 10 of A, 6 of C and D, 3 of E.
for n in $(seq "$(pdfinfo "$out/a4.pdf" | awk '/^Pages/ { print $2 }')"); do
	pdftotext -layout -f "$n" -l "$n" "$out/a4.pdf" "$out/one.txt"
	if grep -q "Letters: pencil codes" "$out/one.txt"; then cat "$out/one.txt"; fi
done | sed '1,/Letters: pencil codes/d' | grep -v "waste\|Measured\|Plan 17\|aiming\|straightedge\|table\|strips\|page" >"$out/pictures.txt"
for wanted in A:10 C:6 D:6 E:3; do
	n=$(grep -oE "(^| )${wanted%:*}( |\$)" <(sed 's/ /  /g' "$out/pictures.txt") | wc -l)
	[ "$n" -eq "${wanted#*:}" ] || fail "code ${wanted%:*} is $n times on the pictures, not ${wanted#*:}"
done
# and in the pick list and on the labels once each
"$BUILD_DIR/print_case" "$case" labels >"$out/labels.pdf"
members=$(grep -cE '^ *[ACDE]  +(Ana|Bertil|Chiyo|Dario) +[0-9]+ pieces' "$out/a4.txt")
[ "$members" -eq 4 ] || fail "$members members with their codes in the pick list, not 4"
[ "$(pdftotext "$out/labels.pdf" - | grep -cE '^[ACDE]$')" -eq 5 ] || fail "not five labels, one a request"
for code in $("$BUILD_DIR/print_case" "$case" text | grep -oE '17-[A-Z]{4}-R[0-9]+' | sort -u); do
	grep -q "$code" "$out/a4.txt" || fail "shelf code $code cannot be found"
done
grep -q "27 1/2 in" "$out/a4.txt" || fail "a fraction cannot be found as text"
grep -q "page 3 of $(pdfinfo "$out/a4.pdf" | awk '/^Pages/ { print $2 }')" "$out/a4.txt" ||
	fail "pages are not numbered"
# each page says which plan it is of
pages=$(pdfinfo "$out/a4.pdf" | awk '/^Pages/ { print $2 }')
awk -v RS='\f' 'NF && !/Plan 17, check/ { bad = 1 } END { exit bad }' "$out/a4.txt" ||
	fail "a page does not name its plan"
echo "pdf: all well, $pages pages"
