#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The nursery hands on the exit status, and sees a process that left its parent and its session.
set -uo pipefail
nursery=${BUILD_DIR:?}/nursery
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
wrong=0

expect() {
	if [ "$2" != "$3" ]; then
		echo "$1: expected $2, got $3"
		wrong=1
	fi
}

"$nursery" true
expect "a good command" 0 $?
"$nursery" sh -c 'exit 7'
expect "a failing command" 7 $?
"$nursery" sh -c 'kill -9 $$'
expect "a killed command" 137 $?

# Twice away from its parent, in a session of its own; the signal shortens the nursery's grace.
cat >"$scratch/leaves" <<'LEAVES'
setsid sh -c 'sleep 1000 & echo $! >"$1/pid"; exit 0' - "$1" &
wait
LEAVES
"$nursery" sh "$scratch/leaves" "$scratch" 2>"$scratch/said" &
watched=$!
# Its number is known before it has become sleep, and has no name for an instant in between.
named() {
	[ -s "$scratch/pid" ] && tr '\0' ' ' <"/proc/$(cat "$scratch/pid")/cmdline" | grep -q 'sleep 1000'
}
until named || ! kill -0 $watched 2>/dev/null; do :; done
kill -TERM $watched
wait $watched
status=$?
[ $status -ne 0 ] || {
	echo "a process was left and the nursery says 0"
	wrong=1
}
grep -q 'left running: .*sleep 1000' "$scratch/said" || {
	echo "the process left is not named:"
	cat "$scratch/said"
	wrong=1
}
if kill -0 "$(cat "$scratch/pid")" 2>/dev/null; then
	echo "the process left still runs"
	wrong=1
fi
exit $wrong
