#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The whole way, as somebody new walks it: deploy/try from the start to the shares, then the drill
# that a studio should have made before it needs it: back up the running database, lose it, bring
# it back elsewhere, and find the same shares and books that agree.
set -uo pipefail
SOURCE_DIR=${SOURCE_DIR:-$(cd "$(dirname "$0")/../.." && pwd)}
scratch=$(mktemp -d)
chmod 755 "$scratch"
wrong=0
daemon=""

stop() {
	[ -n "$daemon" ] || return 0
	kill -TERM "$daemon" 2>/dev/null
	wait "$daemon"
	daemon=""
}
trap 'stop; rm -rf "$scratch"' EXIT

bad() {
	echo "$*"
	wrong=1
}

# the daemon again on what deploy/try left, with another data folder if one is given
start() {
	sed "s,^data = .*,data = ${1:-$try/data}," "$try/tearshared.conf" >"$scratch/again.conf"
	"${BUILD_DIR:?}/tearshared" -d --config "$scratch/again.conf" >>"$scratch/again.log" 2>&1 </dev/null &
	daemon=$!
	as treasurer --wait 60 health >"$scratch/health" 2>&1 || {
		cat "$scratch/health" "$scratch/again.log"
		exit 1
	}
}

as() {
	local profile=$1
	shift
	XDG_CONFIG_HOME=$try/people "$BUILD_DIR/tearshare" --profile "$profile" "$@"
}

books() {
	as treasurer shares --workshop 1 --plain
	as treasurer payments --workshop 1 --plain
	as owner member list --plain
	as treasurer books --plain
}

export TEARSHARE_TRY=$scratch/try
try=$TEARSHARE_TRY
"$SOURCE_DIR/deploy/try" "$BUILD_DIR" >"$scratch/said" 2>&1 </dev/null || {
	cat "$scratch/said"
	exit 1
}
grep -q '^Next:$' "$scratch/said" || bad "deploy/try does not end by saying what to type next"
grep -q '^Invoice \([0-9.]* EUR\); the shares add up to \1\.$' "$scratch/said" ||
	bad "the shares do not stand beside the invoices"
[ "$(tail -n +2 "$try/shares.tsv" | wc -l)" -eq 14 ] || bad "there are not 14 shares"
if pgrep -f "$scratch/try" >"$scratch/left"; then bad "deploy/try left running: $(cat "$scratch/left")"; fi
LC_ALL=C.UTF-8 awk 'length($0) > 80 { print FILENAME ": " $0; n++ } END { exit n > 0 }' "$try/tear-sheet.txt" ||
	bad "the tear sheet is wider than 80 columns"
qpdf --check "$try/tear-sheet.pdf" >"$scratch/qpdf" 2>&1 || bad "$(cat "$scratch/qpdf")"
for secret in owner instructor treasurer; do
	key=$(cat "$try/people/tearshare/$secret/key")
	if grep -rqF -- "$key" "$try"/*.log "$scratch/said"; then bad "the $secret's key is in a log"; fi
done

start
books >"$scratch/before"
"$SOURCE_DIR/deploy/backup" "$try/data" "$scratch/copy" || bad "no backup of the running database"
stop
rm -rf "$try/data/cluster"
cp -R "$scratch/copy" "$scratch/changed"
file=$(find "$scratch/changed/base" -type f -size +8k | LC_ALL=C sort | head -n 1)
printf 'changed!' | dd of="$file" bs=1 seek=100 conv=notrunc 2>/dev/null
if "$SOURCE_DIR/deploy/restore" "$scratch/changed" "$scratch/elsewhere" >"$scratch/refused" 2>&1; then
	bad "a backup that was changed is brought back"
fi
"$SOURCE_DIR/deploy/restore" "$scratch/copy" "$scratch/elsewhere" || bad "the backup is not brought back"
start "$scratch/elsewhere"
books >"$scratch/after"
diff "$scratch/before" "$scratch/after" || bad "what was brought back is not what was there"
[ "$(wc -l <"$scratch/before")" -gt 40 ] || bad "the books before were nearly empty: $(cat "$scratch/before")"
exit $wrong
