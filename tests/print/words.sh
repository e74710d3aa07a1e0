#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Every word of daemon/print is in every catalogue, as the tools of gettext see it: the template
# is what xgettext finds in the source, nothing is untranslated, doubtful or too much, each
# translation has the conversions of its English, and the C made of a catalogue says what it says.
set -euo pipefail
: "${SOURCE_DIR:?}"
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
print=$SOURCE_DIR/daemon/print
export LC_ALL=C
bad=0
fail() {
	echo "words: $*"
	bad=1
}

"$print/po/extract" >"$out/found"
[ "$(grep -c '^msgid "..*"' "$out/found")" -gt 150 ] || fail "only $(grep -c '^msgid' "$out/found") words found"
sed '1,/^$/d' "$print/po/tearsheet.pot" | diff - "$out/found" || fail "po/tearsheet.pot is not what po/extract finds"
n=0
for po in "$print"/po/*.po; do
	language=$(basename "$po" .po)
	msgfmt --check --output-file="$out/mo" "$po" || fail "$po is not sound"
	msgcmp "$po" "$print/po/tearsheet.pot" || fail "$language lacks words"
	msgattrib --untranslated "$po" >"$out/left"
	msgattrib --only-fuzzy "$po" >>"$out/left"
	msgattrib --only-obsolete "$po" >>"$out/left"
	! grep -q '^\(#~ \)*msgid "..*"' "$out/left" || fail "$language has words untranslated, doubtful or too much: $(cat "$out/left")"
	"$print/po/compile" "$po" | cmp - "$print/catalogue_$language.c" || fail "catalogue_$language.c is old"
	# as many entries as msgfmt compiled, the header not counted
	msgunfmt --no-wrap "$out/mo" | grep '^msgid "..*"' | sed 's/^msgid //' | sort >"$out/msgfmt"
	sed -n 's/^\t{\(".*"\),$/\1/p' "$print/catalogue_$language.c" | sort >"$out/compiled"
	diff "$out/msgfmt" "$out/compiled" || fail "$language: msgfmt and po/compile disagree"
	n=$((n + 1))
done
[ "$n" -ge 1 ] || fail "no catalogue"
exit $bad
