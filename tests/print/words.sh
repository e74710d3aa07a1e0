#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Every word of daemon/print is in every catalogue, with the same conversions, and the C made
# of a catalogue is what the catalogue says.
set -euo pipefail
: "${SOURCE_DIR:?}"
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
print=$SOURCE_DIR/daemon/print
export LC_ALL=C
"$print/po/words" "$print" | sort >"$out/words"
[ "$(wc -l <"$out/words")" -gt 100 ] || { echo "only $(wc -l <"$out/words") words found"; exit 1; }
bad=0
for po in "$print"/po/*.po; do
	language=$(basename "$po" .po)
	# key and translation, one pair a line, long strings joined
	perl -ne 'if (/^msgid "(.*)"/) { $k = $1 } elsif (/^msgstr "(.*)"/) { print "$k\t$1\n" if $k ne "" }' "$po" >"$out/pairs"
	cut -f1 "$out/pairs" | sort >"$out/keys"
	if ! diff "$out/words" "$out/keys" >"$out/diff"; then
		bad=1
		echo "$language.po lacks (<) or has too much (>):"
		cat "$out/diff"
	fi
	perl -F'\t' -lane '
		my @a = $F[0] =~ /%(?:zu|lld|s|d)/g; my @b = $F[1] =~ /%(?:zu|lld|s|d)/g;
		if ("@a" ne "@b" || $F[1] eq "") { print "other conversions: $F[0]"; $bad = 1 }
		END { exit $bad }' "$out/pairs" || bad=1
	"$print/po/compile" "$po" | cmp - "$print/catalogue_$language.c" || bad=1
done
exit $bad
