#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The treasurer's papers: as they were when somebody last looked at them, and their PDF seen from
# outside: sound, fonts embedded, real text, named, in a language, the same bytes each time, and
# its payment code read by a reader of QR codes that is not ours (zbar).
set -euo pipefail
: "${BUILD_DIR:?}" "${SOURCE_DIR:?}"
export FONTCONFIG_FILE=$SOURCE_DIR/tests/print/fonts.conf
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
golden=$SOURCE_DIR/tests/golden/papers
paper=$BUILD_DIR/print_paper
bad=0
fail() {
	echo "papers: $*"
	exit 1
}

compare() { # golden file, arguments of print_paper
	local file=$1
	shift
	"$paper" "$@" >"$out/now"
	if [ "${RENEW:-}" = yes ]; then
		cp "$out/now" "$golden/$file"
	elif ! diff -u "$golden/$file" "$out/now" >"$out/diff"; then
		bad=1
		echo "$file is printed differently (RENEW=yes after looking):"
		head -40 "$out/diff"
	fi
}
[ "${RENEW:-}" != yes ] || mkdir -p "$golden"
compare statement.txt statement text
compare statement-de.txt statement text de de
compare statement-canvas.txt statement commands
compare account.txt account text
compare account-fr.txt account text en fr
compare account-canvas.txt account commands
compare entries.csv account csv
[ "$bad" = 0 ] || exit 1

# RFC 4180: lines end in CR LF
[ "$(grep -c $'\r$' "$golden/entries.csv")" = 9 ] || fail "a line of CSV does not end in CR LF"

check_pdf() { # statement|account, title, language
	local pdf=$out/$1.pdf
	"$paper" "$1" pdf "$3" >"$pdf"
	qpdf --check "$pdf" >"$out/check" 2>&1 || { cat "$out/check"; fail "not sound"; }
	pdffonts "$pdf" | awk 'NR > 2 { n++; if ($(NF - 4) != "yes") bad = 1 } END { exit bad || !n }' ||
		fail "a font is not embedded"
	pdfinfo "$pdf" >"$out/info"
	grep -q "^Page size: *595.276 x 841.89 pts (A4)" "$out/info" || fail "page size: $(cat "$out/info")"
	grep -q "^Title: *$2" "$out/info" || fail "title: $(grep '^Title' "$out/info")"
	grep -q "^CreationDate: *.*2026" "$out/info" || fail "creation date: $(grep Creation "$out/info")"
	qpdf --qdf --object-streams=disable "$pdf" "$out/plain.pdf"
	grep -aq "/Lang ($3)" "$out/plain.pdf" || fail "no language"
	grep -aq "/Outlines" "$out/plain.pdf" || fail "no outline"
	"$paper" "$1" pdf "$3" >"$out/again.pdf"
	cmp "$pdf" "$out/again.pdf" || fail "two runs differ"
}
check_pdf account "Account of a workshop" en
check_pdf statement "Kontoauszug, RF77 7M12" de
check_pdf statement "Statement, RF77 7M12" en

# each page says what it is of, and every figure of the text form is there as text
pdftotext -layout "$out/statement.pdf" "$out/statement.txt"
pages=$(pdfinfo "$out/statement.pdf" | awk '/^Pages/ { print $2 }')
[ "$(grep -c "page [0-9]* of $pages" "$out/statement.txt")" = "$pages" ] || fail "pages are not numbered"
awk -v RS='\f' 'NF && !/RF77 7M12/ { bad = 1 } END { exit bad }' "$out/statement.txt" ||
	fail "a page does not say whose it is"
while read -r amount; do
	grep -qF -- "$amount" "$out/statement.txt" || fail "$amount is not in the PDF"
done < <(grep -oE -- '-?[0-9,]+\.[0-9]{2} EUR' "$golden/statement.txt" | sort -u)

# The payment code, photographed so to speak, is the payload of EPC069-12 with these very words.
command -v zbarimg >/dev/null || fail "zbarimg is not installed (deploy/setup)"
pdftoppm -r 150 -f 1 -l 1 -gray -png "$out/statement.pdf" "$out/page"
zbarimg --quiet --raw -Sbinary "$out"/page*.png >"$out/code" 2>/dev/null ||
	zbarimg --quiet --raw "$out"/page*.png >"$out/code" || fail "the code cannot be read"
printf '%s\n' BCD 002 1 SCT '' 'Studio on the Quay' DE89370400440532013000 EUR33.62 '' RF777M12 >"$out/wanted"
diff "$out/wanted" <(awk 1 "$out/code") || fail "the code says something else"
echo "papers: all well"
