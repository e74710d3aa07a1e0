#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The daemon as a service: first start, background, log and certificate read again, the end
# with requests under way, a PostgreSQL that is killed, and what else may go wrong.
set -euo pipefail
# shellcheck source=tests/main/lib.sh
. "$(dirname "$0")/lib.sh"

make_certificate one
cat >"$work/conf" <<CONF
listen = 127.0.0.1:0
data = $work/data
certificate = $work/one.pem
private-key = $work/one.key
log = $work/log
pidfile = $work/pid
loops = 2
CONF

listening() { sed -n 's/.* event=ready listen="\([^"]*\)".*/\1/p' "$work/log" | tail -n 1; }
ask() { # PATH [curl options]
	local path=$1
	shift
	curl -sS -o /dev/null -w '%{http_code}' --cacert "$work/one.pem" \
		--resolve "localhost:${address##*:}:127.0.0.1" "$@" "https://localhost:${address##*:}$path"
}
ask_with_key() { ask "$1" -H "$(printf 'Authorization: Bearer %s' "$(cat "$work/data/owner.key")")"; }
answers() { [ "$(ask_with_key "$1")" = "$2" ]; }
gone() { ! kill -0 "$1" 2>/dev/null; }

# As a first start leaves it that was killed after its key file and before its studio.
mkdir -m 700 "$work/data"
(umask 077 && echo tsk_of_a_studio_that_was_never_made >"$work/data/owner.key")

say "into the background: it serves when the caller comes back"
run 0 "$tearshared" -c "$work/conf"
pid=$(cat "$work/pid")
address=$(listening)
[ "$(ask /v1/health)" = 200 ] || fail "no health"
[ "$(ps -o sid= -p "$pid" | tr -d ' ')" = "$pid" ] || fail "it has no session of its own"
[ "$(readlink "/proc/$pid/fd/2")" = /dev/null ] || fail "standard error leads somewhere"

say "the owner's key: in a file of mode 0600, good, and nowhere else"
[ "$(stat -c %a "$work/data/owner.key")" = 600 ] || fail "mode $(stat -c %a "$work/data/owner.key")"
answers /v1/me 200 || fail "the owner's key is not taken: $(ask_with_key /v1/me)"
[ "$(ask /v1/me)" = 401 ] || fail "without a key: $(ask /v1/me)"
! grep -qF "$(cat "$work/data/owner.key")" "$work/log" "$work/data/postgres.log" || fail "the key is in a log"
! tr '\0' ' ' <"/proc/$pid/cmdline" | grep -q tsk_ || fail "the key is on the command line"

say "the answer's number is in the log"
id=$(curl -sS -D - -o /dev/null --cacert "$work/one.pem" --resolve "localhost:${address##*:}:127.0.0.1" \
	"https://localhost:${address##*:}/v1/health" | tr -d '\r' | sed -n 's/^Request-Id: //p')
grep -q "event=request-done req=$id " "$work/log" || fail "no line of request \"$id\""

say "a second daemon on the same folder: 75, and the first one is not disturbed"
run 75 "$tearshared" -d -c "$work/conf" --log "" --pidfile "$work/pid2"
says "used by another daemon"
[ ! -e "$work/pid2" ] || fail "it left a pidfile"
[ "$(ask /v1/health)" = 200 ] || fail "the first one is disturbed"

say "an address that is taken: 78, with the reason"
run 78 "$tearshared" -d --data "$work/other" --listen "$address" --certificate "$work/one.pem" \
	--private-key "$work/one.key"
says "could not listen on $address"

say "check and studio beside the running daemon"
run 0 "$tearshared" -c "$work/conf" check
[ "$out" = "the books agree" ] || fail "check said: $out"
run 0 "$tearshared" -c "$work/conf" studio "Second Studio"
[ "$(stat -c %a "$out")" = 600 ] || fail "mode of $out"
second=$(curl -sS --cacert "$work/one.pem" --resolve "localhost:${address##*:}:127.0.0.1" \
	-H "$(printf 'Authorization: Bearer %s' "$(cat "$out")")" "https://localhost:${address##*:}/v1/studio")
case $second in *"Second Studio"*) ;; *) fail "its owner sees: $second" ;; esac
run 78 "$tearshared" -c "$work/conf" studio $'two\nlines'

say "another key for an owner who lost all of them; the old one stays good"
run 0 "$tearshared" -c "$work/conf" owner-key
[ "$(stat -c %a "$out")" = 600 ] || fail "mode of $out"
! cmp -s "$out" "$work/data/owner.key" || fail "the same key again"
third=$(curl -sS --cacert "$work/one.pem" --resolve "localhost:${address##*:}:127.0.0.1" \
	-H "$(printf 'Authorization: Bearer %s' "$(cat "$out")")" "https://localhost:${address##*:}/v1/me")
case $third in *'"member"'* | *Owner*) ;; *) fail "its owner is: $third" ;; esac
answers /v1/me 200 || fail "the old key is not good any more"
run 78 "$tearshared" -c "$work/conf" owner-key 999
says "studio 999 has no owner"
[ "$(find "$work/data" -name '*.key' | wc -l)" = 3 ] || fail "a key file without a key: $(ls "$work/data")"

say "SIGHUP: a new log file, a new certificate; a broken one is not taken"
serial() { openssl s_client -connect "$address" </dev/null 2>/dev/null | openssl x509 -noout -serial; }
before=$(serial)
mv "$work/log" "$work/log.1"
make_certificate one
kill -HUP "$pid"
until_true grep -q "event=reload" "$work/log"
until_true eval '[ "$(grep -c "event=certificate-read result=taken" "$work/log")" = 2 ]'
[ "$(serial)" != "$before" ] || fail "the old certificate is still shown"
before=$(serial)
cp "$work/one.pem" "$work/good.pem"
echo broken >"$work/one.pem"
kill -HUP "$pid"
until_true grep -q "result=kept-old" "$work/log"
[ "$(serial)" = "$before" ] || fail "a broken certificate was taken"
cp "$work/good.pem" "$work/one.pem"

say "kill -9 of the private PostgreSQL: the daemon stays, and is well again"
postmaster=$(head -n 1 "$work/data/cluster/postmaster.pid")
kill -KILL "$postmaster"
until_true answers /v1/members 200
until_true grep -q "event=cluster-ended" "$work/log"
[ "$(head -n 1 "$work/data/cluster/postmaster.pid")" != "$postmaster" ] || fail "the same postmaster"

say "SIGTERM with requests under way: whole answers, then the end"
"$BUILD_DIR/in_flight" "$address" "$work/one.pem" "$work/data/owner.key" "$pid" 200 || fail "requests were lost"
until_true gone "$pid"
[ ! -e "$work/pid" ] || fail "the pidfile is still there"
tail -n 1 "$work/log" | grep -q event=stopped || fail "it did not end in order: $(tail -n 3 "$work/log")"
[ ! -e "$work/data/cluster/postmaster.pid" ] || fail "its PostgreSQL still runs"

say "under a service manager: ready, reloading, stopping; in the foreground"
mkfifo "$work/told"
"$BUILD_DIR/notify_sink" "$work/notify" >"$work/told" &
pids+=($!)
exec 3<"$work/told"
read -r line <&3
NOTIFY_SOCKET=$work/notify "$tearshared" -d -c "$work/conf" --pidfile "" --log "" 2>"$work/foreground" &
pid=$!
pids+=("$pid")
told() { # TEXT: the next word to the service manager holds it
	read -r -t 60 line <&3 || die "nothing was told, wanted $1: $(cat "$work/foreground")"
	case $line in *"$1"*) ;; *) fail "told \"$line\", wanted $1" ;; esac
}
told READY=1
grep -q event=ready "$work/foreground" || fail "no log on standard error"
kill -HUP "$pid"
told "RELOADING=1 MONOTONIC_USEC="
told READY=1

say "a client that never ends its request does not hold the end for ever"
address=$(sed -n 's/.* event=ready listen="\([^"]*\)".*/\1/p' "$work/foreground")
exec 4<>"/dev/tcp/127.0.0.1/${address##*:}"
kill -TERM "$pid"
told STOPPING=1
kill -TERM "$pid" # the second one does not wait eight seconds
wait "$pid" || fail "ended with $?"
exec 4>&-

cat >"$work/plain" <<CONF
data = $work/data
listen = 127.0.0.1:0
CONF
serve_plain() { # [OPTION...]
	: >"$work/foreground"
	"$tearshared" -d -c "$work/plain" "$@" 2>"$work/foreground" &
	pid=$!
	pids+=("$pid")
	until_true grep -qs event=ready "$work/foreground" "$work/aged" "$work/aged.old"
	socket=$(sed -n 5p "$work/data/cluster/postmaster.pid")
}
: >"$work/aged"
serve_plain
psql -XAtq -h "$socket" -U postgres -d tearshare -v ON_ERROR_STOP=1 \
	-c "INSERT INTO tearshare.kept_answer (studio_id, caller, key, fingerprint, status, body, created_at)
	    SELECT 1, 'key:1', 'k' || d, decode(repeat('00', 32), 'hex'), 200, '', now() - make_interval(days => d)
	    FROM unnest(ARRAY[6, 8]) d"
kill -TERM "$pid"
wait "$pid" || fail "ended with $?"

say "what is past its time goes: answers after 7 days by the database's clock, logs after 90"
echo "2001-01-01T00:00:00.000Z level=info event=old" >"$work/aged"
sed -i '1i 2001-01-01 00:00:00.000 UTC [1] LOG:  old' "$work/data/postgres.log"
serve_plain --log "$work/aged"
until_true grep -qs "event=swept answers=1 sessions=0 invitations=0 members=0" "$work/aged" "$work/aged.old"
grep -q "event=old" "$work/aged.old" || fail "the old log was not put aside"
! grep -q "event=old" "$work/aged" || fail "an old line is in the new log"
grep -q "LOG:  old" "$work/data/postgres.log.old" || fail "PostgreSQL's old log was not put aside"
! grep -q "LOG:  old" "$work/data/postgres.log" || fail "an old line is in PostgreSQL's log"
[ "$(psql -XAtq -h "$socket" -U postgres -d tearshare -c "SELECT string_agg(key, ' ') FROM tearshare.kept_answer WHERE caller = 'key:1' AND key LIKE 'k_'")" = k6 ] ||
	fail "answers were kept too long, or not long enough"

say "a schema that is newer than the program: 78, nothing touched"
psql -XAtq -h "$socket" -U postgres -d tearshare -v ON_ERROR_STOP=1 \
	-c "INSERT INTO tearshare.schema_version (number, name, hash)
	    SELECT max(number) + 1, 'later.sql', decode(repeat('00', 32), 'hex') FROM tearshare.schema_version"
kill -TERM "$pid"
wait "$pid" || fail "ended with $?"
run 78 "$tearshared" -d -c "$work/plain"
says "this program knows"
exit "$failed"
