#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The planner's door, `tearshared plan`: statuses, what is written where, and stopping.
set -euo pipefail
# shellcheck source=tests/main/lib.sh
. "$(dirname "$0")/lib.sh"

problem() { # PIECES [STOCK] [MORE]
	cat <<JSON
{"stages": 3, "stock": [${2:-{\"name\": \"roll\", \"width\": \"45 in\", \"length\": \"10 yd\", \"price\": 19200, \"available\": null\}}],
 "pieces": [$1]${3:-}}
JSON
}
piece() { # NAME ACROSS ALONG COUNT
	printf '{"name": "%s", "across": "%s", "along": "%s", "count": %s, "turn": true}' "$@"
}

say "a plan"
problem "$(piece A '9 in' '12 1/2 in' 10), $(piece B '11 in' '15 in' 4)" >"$work/fine"
run 0 "$tearshared" plan "$work/fine"
[ -z "$err" ] || fail "it talks without being asked: $err"
jq -e '.rolls | length == 1' "$work/out" >/dev/null || fail "not one roll: $out"
# Ten of 9 x 12 1/2 in and four of 11 x 15 in are on one roll of 45 in x 10 yd: bound 1.
jq -e '.totals.fresh_rolls == 1 and .totals.unplaced == 0 and .totals.price == 19200' "$work/out" >/dev/null ||
	fail "wrong totals: $out"
jq -e '.bounds.fresh_rolls == 1 and .proven.fresh_rolls' "$work/out" >/dev/null || fail "wrong bounds: $out"
jq -e '[.rolls[].strips[].segments[].pieces[]] | length == 14' "$work/out" >/dev/null || fail "not 14 pieces: $out"
jq -e '.seconds >= 0' "$work/out" >/dev/null || fail "no seconds: $out"

say "from standard input"
"$tearshared" plan - <"$work/fine" >"$work/stdin" || fail "status $?"
diff <(jq 'del(.seconds)' "$work/out") <(jq 'del(.seconds)' "$work/stdin") >/dev/null || fail "another plan"

say "with progress"
run 0 "$tearshared" plan --progress "$work/fine"
line='^progress fresh_rolls=[0-9]+ price=[0-9]+ strip_length=[0-9]+ bound_rolls=[0-9]+ bound_price=[0-9]+ bound_length=[0-9]+ steps=[0-9]+$'
grep -Eq "$line" "$work/err" || fail "no line of progress: $err"
! grep -Evq "$line" "$work/err" || fail "other lines: $err"
# The last one says what the plan says.
totals=$(jq -r '"fresh_rolls=\(.totals.fresh_rolls) price=\(.totals.price) strip_length=\(.totals.strip_length)"' "$work/out")
case $(tail -n 1 "$work/err") in *"$totals"*) ;; *) fail "the plan says $totals" ;; esac

say "as a tear sheet"
run 0 "$tearshared" plan --sheet "$work/fine"
head -n 3 "$work/out" | grep -q "TEAR SHEET" || fail "no tear sheet: $out"
[ -z "$(awk 'length > 80' "$work/out")" ] || fail "wider than 80 columns"
grep -q "9 x 12 1/2 in" "$work/out" || fail "a problem in inches is not told in inches"
run 0 "$tearshared" plan --sheet --measure mm --language de "$work/fine"
head -n 3 "$work/out" | grep -q REISSBLATT || fail "no German sheet: $(head -n 3 "$work/out")"
grep -q "279,4 x 381 mm" "$work/out" || fail "no decimal comma: $out"
problem "$(piece A '30 cm' '40 cm' 2)" >"$work/metric"
run 0 "$tearshared" plan --sheet "$work/metric"
grep -q "300 x 400 mm" "$work/out" || fail "a problem in centimetres is not told in metric"
run 64 "$tearshared" plan --sheet --language xx "$work/fine"

say "with its proof: checked by tables that know nothing of the planner"
# Thirteen of 4 x 6 from rolls of 10 x 20: three strips of two on a roll, so 3 rolls; by areas 2 would do.
cat >"$work/thirteen" <<'JSON'
{"stages": 2, "stock": [{"width": 10, "length": 20}], "pieces": [{"across": 4, "along": 6, "count": 13}]}
JSON
for asked in fine thirteen; do
	run 0 "$tearshared" plan --proof "$work/proof" "$work/$asked"
	jq -e --slurpfile plan "$work/out" '.how == "prices" and .fresh_rolls == $plan[0].bounds.fresh_rolls' \
		"$work/proof" >/dev/null || fail "$asked: no such certificate: $(cat "$work/proof")"
	run 0 "$BUILD_DIR/proof_file" "$work/$asked" "$work/proof"
done
tampered() { # JQ-FILTER WHY
	jq "$1" "$work/proof" >"$work/tampered"
	run 1 "$BUILD_DIR/proof_file" "$work/thirteen" "$work/tampered"
	says "$2"
}
tampered '.fresh_rolls += 1' "fewer rolls"
tampered '.prices[0] = (.prices[0] * 2 / 3 | floor)' "fewer rolls"
tampered '.prices[0] += 1' "more than its worth"
tampered '.stock_worth[0] -= 1' "more than its worth"
tampered '.prices = []' "not a price"

none() { [ -z "$out" ] || fail "something was written to standard output: $out"; }

say "a piece that fits no stock: 1, and its name"
problem "$(piece Poster '50 in' '60 in' 1)" >"$work/huge"
run 1 "$tearshared" plan "$work/huge"
says Poster
none

say "a problem that breaks the format: 2, and the place"
malformed() { # JSON PLACE
	printf '%s' "$1" >"$work/malformed"
	run 2 "$tearshared" plan "$work/malformed"
	says "$2"
	none
}
malformed '' "$work/malformed"
malformed '{' "$work/malformed"
malformed '[]' "$work/malformed"
malformed '{"pieces": [], "pieces": []}' "duplicate"
malformed "$(problem "$(piece A '1/3 in' '12 in' 1)")" /pieces/0/across
malformed "$(problem "$(piece A '9 in' '-12 in' 1)")" /pieces/0/along
malformed "$(problem "$(piece A '9 in' '12 in' 0)")" /pieces/0/count
malformed "$(problem "$(piece A '9 in' '12 in' 1.5)")" /pieces/0/count
malformed "$(problem "$(piece A '9 in' '12 in' 1)" '' ', "seconds": 0')" /seconds
malformed "$(problem "$(piece A '9 in' '12 in' 1)" '' ', "colour": "blue"')" /colour
malformed "$(problem "$(piece A '9 in' '12 in' 1)" | sed 's/"stages": 3/"stages": 4/')" /stages
malformed "$(problem "$(piece $'\xff' '9 in' '12 in' 1)")" "$work/malformed"

say "several errors are all named"
problem "$(piece A '0 in' '12 in' 1), $(piece B '9 in' '1/3 in' 1)" >"$work/two"
run 2 "$tearshared" plan "$work/two"
says /pieces/0/across
says /pieces/1/along

say "files that cannot be read or written"
run 66 "$tearshared" plan "$work/nowhere"
none
run 66 "$tearshared" plan "$work"
none
run 74 "$tearshared" plan --proof "$work/nowhere/proof" "$work/fine"
says "$work/nowhere/proof"
none
run 74 "$tearshared" plan --proof /dev/full "$work/fine"
none
run 64 "$tearshared" plan "$work/fine" --proof
none
status=0
"$tearshared" plan "$work/fine" >/dev/full 2>"$work/err" || status=$?
[ "$status" = 74 ] || fail "a full disk gave $status"

say "SIGTERM: the best plan so far, with its bounds"
pieces=$(for i in $(seq 60); do
	[ "$i" = 1 ] || printf ', '
	piece "P$i" "$((1000 + i * 37)) mm" "$((3000 + i * 53)) mm" "$((i % 7 + 3))" | sed "s/\([0-9]*\)\([0-9]\) mm/\1.\2 cm/g"
done)
problem "$pieces" '' ', "seconds": 600' | sed 's/ cm/ mm/g' >"$work/hard"
mkfifo "$work/told"
"$tearshared" plan --progress "$work/hard" >"$work/best" 2>"$work/told" &
planner=$!
exec 3<"$work/told"
read -r first <&3 || fail "no progress at all"
kill -TERM "$planner"
cat <&3 >/dev/null
exec 3<&-
wait "$planner" || fail "stopped with $?"
jq -e '.totals.unplaced == 0 and .totals.fresh_rolls >= .bounds.fresh_rolls and .bounds.fresh_rolls >= 1' \
	"$work/best" >/dev/null || fail "no plan after SIGTERM (told first: $first)"

say "at the end of its seconds it stops by itself"
jq '.seconds = 0.001' "$work/hard" >"$work/hasty"
run 0 "$tearshared" plan "$work/hasty"
jq -e '.totals.unplaced == 0' "$work/out" >/dev/null || fail "no plan: $out"
exit "$failed"
