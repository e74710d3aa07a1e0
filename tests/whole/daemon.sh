# shellcheck shell=bash
# SPDX-License-Identifier: MIT
# A real daemon for scripts: in a folder of its own, over TLS with a certificate made on the
# spot, on a port the system chose; nothing is left when the script ends.
#
#     . "$(dirname "$0")/../whole/daemon.sh"
#     daemon_start one                      # ${daemon_url[one]}, ${daemon_pid[one]}
#     daemon_kill one; daemon_start one     # kill -9, and up again at the same address
#     daemon_stop one                       # SIGTERM; waits until it has ended
#
#     scratch    folder of the script, thrown away at the end
#     ca         certificate to trust
#     owner_key  file with the key of the first start (of the daemon called "one")
#
# A second name is a second daemon: daemon_start two --database "..." shares a database.
# ts PROFILE command... runs the command line as one of several people.
set -euo pipefail

scratch=$(mktemp -d)
chmod 711 "$scratch" # as root the private PostgreSQL runs as another user
ca=$scratch/server.pem
owner_key=$scratch/one/owner.key
declare -A daemon_pid=() daemon_port=() daemon_url=()
export XDG_CONFIG_HOME=$scratch/people

clean_up() {
	local status=$? name
	for name in "${!daemon_pid[@]}"; do daemon_stop "$name" || true; done
	if [ $status -ne 0 ] && [ $status -ne 77 ]; then
		tail -n 15 "$scratch"/*.log >&2 2>/dev/null || true
	fi
	rm -rf "$scratch"
	exit $status
}
trap clean_up EXIT
trap 'exit 130' INT TERM

make_certificate() { # FILE-WITHOUT-SUFFIX SUBJECT-ALT-NAMES DAYS
	openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -noenc -days "$3" -subj "/CN=localhost" \
		-addext "subjectAltName=$2" -keyout "$1.key" -out "$1.pem" 2>/dev/null
	chmod 600 "$1.key"
}

# Until the daemon says that it is ready, or has ended.
daemon_wait_ready() {
	local name=$1 line
	until line=$(grep -a 'event=ready ' "$scratch/$name.log"); do
		if ! kill -0 "${daemon_pid[$name]}" 2>/dev/null; then
			echo "the daemon \"$name\" did not start" >&2
			return 1
		fi
		sleep 0.05
	done
	line=${line#*listen=}
	line=${line#\"}
	daemon_port[$name]=${line#*:}
	daemon_port[$name]=${daemon_port[$name]%%[!0-9]*}
	# shellcheck disable=SC2034 # for the scripts that source this
	daemon_url[$name]=https://localhost:${daemon_port[$name]}
}

daemon_start() { # NAME [option...]
	local name=$1
	shift
	[ -e "$ca" ] || make_certificate "$scratch/server" "DNS:localhost,IP:127.0.0.1" 30
	: >"$scratch/$name.log"
	"$BUILD_DIR/tearshared" -d --listen "127.0.0.1:${daemon_port[$name]:-0}" --data "$scratch/$name" \
		--certificate "$scratch/server.pem" --private-key "$scratch/server.key" "$@" \
		>>"$scratch/$name.log" 2>&1 </dev/null &
	daemon_pid[$name]=$!
	daemon_wait_ready "$name"
}

daemon_stop() {
	local pid=${daemon_pid[$1]:-}
	[ -n "$pid" ] || return 0
	kill "$pid" 2>/dev/null || true
	wait "$pid" 2>/dev/null || true
	unset "daemon_pid[$1]"
}

daemon_kill() {
	local pid=${daemon_pid[$1]}
	kill -9 "$pid"
	wait "$pid" 2>/dev/null || true
	unset "daemon_pid[$1]"
}

# ---- the command line ----

ts() { # PROFILE command...
	local profile=$1
	shift
	"$BUILD_DIR/tearshare" --profile "$profile" --ca "$ca" "$@"
}

# column NAME < a --plain answer: the values of that column, one a line
column() {
	awk -F '\t' -v name="$1" 'NR == 1 { for (i = 1; i <= NF; i++) if ($i == name) c = i
		if (!c) { print "no column " name > "/dev/stderr"; exit 1 } next } { print $c }'
}

# ---- checks ----

checks=0 failures=0
same() { # SENTENCE WANTED SEEN
	checks=$((checks + 1))
	if [ "$2" != "$3" ]; then
		failures=$((failures + 1))
		printf 'FAILED: %s\n   wanted: %s\n   seen:   %s\n' "$1" "$2" "$3"
	fi
}

# fails STATUS TEXT command...: it must end with that exit status and say that text on stderr.
fails() {
	local wanted=$1 text=$2 status=0 said
	shift 2
	said=$("$@" 2>&1 >/dev/null) || status=$?
	same "exit status of: ${*:1:9}" "$wanted" "$status"
	checks=$((checks + 1))
	if ! grep -qF -- "$text" <<<"$said"; then
		failures=$((failures + 1))
		printf 'FAILED: %s\n   should say: %s\n   says:       %s\n' "${*:1:9}" "$text" "$said"
	fi
}

finish() {
	echo "$checks checks, $failures failed"
	[ "$failures" -eq 0 ]
}

# The owner, an instructor and a treasurer, each signed in under that name.
set_up_studio() { # URL
	ts owner signin "$1" <"$owner_key" >/dev/null 2>&1
	ts owner studio change --name "Harbour Light Studio" --currency USD --time-zone America/New_York \
		--measure in --ruler "1/16 in" --sliver "1/4 in" --keep "12 in" >/dev/null
	local role
	for role in instructor treasurer; do
		ts owner member add "The $role" --role "$role" >/dev/null
		ts owner key add "desk" --for "The $role" --to "$scratch/$role.key" >/dev/null 2>&1
		ts "$role" signin "$1" <"$scratch/$role.key" >/dev/null 2>&1
	done
}
