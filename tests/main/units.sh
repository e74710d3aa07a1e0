#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The service units: how exposed they are (systemd-analyze, offline), and that the program
# takes the words they start it with.
set -euo pipefail
# shellcheck source=tests/main/lib.sh
. "$(dirname "$0")/lib.sh"
units=$SOURCE_DIR/deploy/systemd

command -v systemd-analyze >/dev/null || {
	echo "skipped: no systemd-analyze"
	exit 77
}

# exposure UNIT TENTHS: at most so many tenths
exposure() {
	local level
	level=$(systemd-analyze security --offline=true "$units/$1.service" 2>/dev/null |
		sed -n 's/.*Overall exposure level for [^:]*: \([0-9]*\)\.\([0-9]\).*/\1\2/p')
	[ -n "$level" ] || die "systemd-analyze says nothing about $1"
	say "$1: $((10#$level / 10)).$((10#$level % 10))"
	[ "$((10#$level))" -le "$2" ] || fail "$1 is more exposed than $2 tenths"
}
exposure tearshared 15
exposure tearshared-planner 15
grep -q '^PrivateNetwork=yes' "$units/tearshared-planner.service" || fail "the planner has a network"

"$tearshared" --sample-config >"$work/conf"
for unit in tearshared tearshared-planner; do
	words=$(sed -n 's|^ExecStart=/usr/bin/tearshared -d -c /etc/tearshared.conf||p' "$units/$unit.service")
	eval "set -- $words"
	run 0 "$tearshared" -n -c "$work/conf" --data "$work/data" "$@"
done
exit "$failed"
