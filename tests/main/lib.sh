# SPDX-License-Identifier: MIT
# Sourced by the scripts of this folder: a folder to work in, and what they all ask.
# shellcheck shell=bash disable=SC2034
tearshared=$BUILD_DIR/tearshared
work=$(mktemp -d)
chmod 755 "$work"
pids=()
failed=0

say() { echo "-- $*"; }
fail() {
	echo "FAILED: $*" >&2
	failed=1
}
die() {
	fail "$@"
	exit 1
}
clean_up() {
	local pid
	for pid in "${pids[@]}"; do
		kill -TERM "$pid" 2>/dev/null || true
		wait "$pid" 2>/dev/null || true
	done
	rm -rf "$work"
}
trap clean_up EXIT

# run STATUS COMMAND...: its status must be that; output in $out, errors in $err
run() {
	local wanted=$1 status=0
	shift
	"$@" >"$work/out" 2>"$work/err" </dev/null || status=$?
	out=$(cat "$work/out")
	err=$(cat "$work/err")
	[ "$status" = "$wanted" ] || fail "$* ended with $status, wanted $wanted: $err"
}

# says TEXT: the errors of the last run hold it
says() {
	case $err in
	*"$1"*) ;;
	*) fail "wanted \"$1\" but was told: $err" ;;
	esac
}

make_certificate() { # into $work/NAME.pem and .key
	openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 \
		-subj /CN=localhost -addext subjectAltName=DNS:localhost,IP:127.0.0.1 \
		-keyout "$work/$1.key" -out "$work/$1.pem" 2>/dev/null
	chmod 600 "$work/$1.key"
}

# until COMMAND...: again and again until it succeeds; a minute is the end of patience
until_true() {
	local i
	for ((i = 0; i < 600; i++)); do
		! "$@" >/dev/null 2>&1 || return 0
		sleep 0.1
	done
	die "never came true: $*"
}
