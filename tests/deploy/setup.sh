#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# deploy/setup on machines that are not this one: dpkg-query, apt-get, sudo and id are played by
# scripts, so that each way through it can be seen without installing anything.
set -uo pipefail
SOURCE_DIR=${SOURCE_DIR:-$(cd "$(dirname "$0")/../.." && pwd)}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
wrong=0

say() {
	echo "$*"
	sed 's/^/    /' "$scratch/out" "$scratch/calls"
	wrong=1
}

player() {
	printf '#!/bin/sh\n%s\n' "$2" >"$scratch/bin/$1"
	chmod +x "$scratch/bin/$1"
}

# A machine where the packages in the file "have" are installed.  Each other program is this one's.
machine() {
	rm -rf "${scratch:?}"/{bin,calls,tree,etc}
	mkdir -p "$scratch/bin" "$scratch/tree/deploy"
	: >"$scratch/calls"
	cp "$SOURCE_DIR/deploy/setup" "$scratch/tree/deploy/"
	sed -i "s,^cluster_conf=.*,cluster_conf=$scratch/etc/createcluster.conf," "$scratch/tree/deploy/setup"
	player dpkg-query "case \$2 in *Version*) v=' $libevent';; esac; shift 2
		for p; do if grep -qx \"\$p\" $scratch/have; then echo \"installed \$p\$v\"; fi; done"
	player apt-get "echo \"apt-get \$*\" >>$scratch/calls
		case \"\$*\" in *' install '*) for p; do echo \"\$p\"; done >>$scratch/have;; esac"
	player id "echo $uid"
	player sudo "$sudo"
}

run() {
	PATH=$scratch/bin:$PATH "$scratch/tree/deploy/setup" "$@" >"$scratch/out" 2>&1 </dev/null
}

everything() {
	sed -n '/^run_packages=(/,/^)/p;/^libevent_parts=(/,/)$/p' "$SOURCE_DIR/deploy/setup" |
		sed 's/#.*//; s/^[a-z_]*=(//; s/)$//' | tr -s ' \t' '\n' | grep .
}

libevent=2.1.12-stable-8+deb12u1
sudo='echo "sudo: a password is required" >&2; exit 1'

uid=1000
everything >"$scratch/have"
machine
run run || say "all is there, and it fails"
[ ! -s "$scratch/calls" ] || say "all is there, and it calls apt"

: >"$scratch/have"
machine
run run && say "nothing is there, nobody may install, and it says 0"
grep -q '^.*apt-get update && apt-get install -y --no-install-recommends .*\bcmake\b.*\bpostgresql-15\b' "$scratch/out" ||
	say "the command to type is not printed"
grep -q 'create_main_cluster = false' "$scratch/out" || say "the command would let a main cluster be made"
if grep -q chromium "$scratch/out"; then say "running needs no browser"; fi
[ ! -s "$scratch/calls" ] || say "it may not install, and calls apt"

sudo='shift; exec "$@"'
machine
run run || say "sudo would do, and it fails"
grep -q '^apt-get .*install .*cmake' "$scratch/calls" || say "nothing was installed through sudo"
grep -q '^create_main_cluster = false$' "$scratch/etc/createcluster.conf" ||
	say "a main cluster would be made"

uid=0 sudo='exit 1'
everything >"$scratch/have"
libevent=2.1.12-stable-8
machine
run run && say "the old libevent stays, and it says 0"
grep -q '^apt-get .*install .*libevent-2\.1-7' "$scratch/calls" || say "libevent was not raised"
grep -q 'older than 2\.1\.12-stable-8+deb12u1' "$scratch/out" || say "it does not say which revision is missing"

run nonsense && say "an unknown list is taken"
exit $wrong
