# SPDX-License-Identifier: MIT
# Sourced by the scripts of this folder: servers of the HTTP part alone, in a folder of their
# own, stopped at the end.
# shellcheck shell=bash
work=$(mktemp -d)
pids=()

say() { echo "-- $*"; }
die() {
	echo "FAILED: $*" >&2
	exit 1
}
stop_servers() {
	local pid
	for pid in "${pids[@]}"; do
		kill -KILL "$pid" 2>/dev/null || true
		wait "$pid" 2>/dev/null || true
	done
	rm -rf "$work"
}
trap stop_servers EXIT

# make_certificate NAME: a self-signed one for localhost in $work/NAME.pem and .key
make_certificate() {
	openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 \
		-subj /CN=localhost -addext subjectAltName=DNS:localhost,IP:127.0.0.1 \
		-keyout "$work/$1.key" -out "$work/$1.pem" 2>/dev/null
	chmod 600 "$work/$1.key"
}

# start_server NAME OPTION=VALUE...: its address in the variable NAME, its pid in pid_NAME
start_server() {
	local name=$1 line
	shift
	mkfifo "$work/$name.out"
	"$BUILD_DIR/http_echo" "$@" >"$work/$name.out" 2>"$work/$name.log" &
	pids+=($!)
	printf -v "pid_$name" '%s' $!
	exec {fd}<"$work/$name.out"
	printf -v "fd_$name" '%s' "$fd"
	read -r -t 30 line <&"$fd" || die "$name did not start: $(cat "$work/$name.log")"
	printf -v "$name" '%s' "$line"
	read -r -t 30 line <&"$fd"
}

# reload NAME TEXT: send SIGHUP; the server's own line about it must hold TEXT
reload() {
	local pid=pid_$1 fd=fd_$1 line
	kill -HUP "${!pid}"
	read -r -t 30 line <&"${!fd}" || die "$1 says nothing about SIGHUP"
	case $line in
	*"$2"*) ;;
	*) die "$1 said \"$line\", wanted \"$2\"" ;;
	esac
}

# expect TEXT COMMAND...: its output holds TEXT
expect() {
	local text=$1 output
	shift
	output=$("$@" || true)
	case $output in
	*"$text"*) ;;
	*) die "\"$*\" did not say \"$text\" but: $output" ;;
	esac
}
