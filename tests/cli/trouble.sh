#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# What people run into: server away, certificate not trusted, clock wrong, key refused or
# readable by others.  Each has its own sentence, says what to do, and an exit status of the
# table in docs/tearshare.1.
# shellcheck source=tests/whole/daemon.sh
. "$(dirname "$0")/../whole/daemon.sh"

daemon_start one
url=${daemon_url[one]}
port=${daemon_port[one]}
plain() { "$BUILD_DIR/tearshare" "$@"; }

# ---- signing in ----
fails 77 "nobody is signed in" plain whoami
fails 78 "does not hold a key" ts owner signin "$url" <<<"not a key"
fails 77 "key" ts owner signin "$url" <<<"tsk_$(printf 'A%.0s' {1..43})"
same "a key that was refused is not kept" 0 "$(find "$scratch/people" -name key 2>/dev/null | wc -l)"
fails 64 "does not belong on the command line" ts owner signin "$url" "$(cat "$owner_key")"
ts owner signin "$url" <"$owner_key" >/dev/null 2>&1
keyfile=$scratch/people/tearshare/owner/key
same "the key file is for its owner alone" 600 "$(stat -c %a "$keyfile")"
same "its folder too" 700 "$(stat -c %a "$(dirname "$keyfile")")"
same "the certificate is remembered" "$ca" "$(sed -n 's/^ca //p' "$scratch/people/tearshare/owner/settings")"
same "and used without being named" Owner "$(plain --profile owner whoami --plain | column name)"
ts owner signin "$url" --key-file "$keyfile" >/dev/null 2>&1 # also from a file

# ---- the key ----
chmod 644 "$keyfile"
fails 78 "chmod 600 '$keyfile'" ts owner whoami
chmod 600 "$keyfile"
ts owner key add "second" --to "$scratch/second.key" >/dev/null 2>&1
ts owner whoami --key-file "$scratch/second.key" >/dev/null
second=$(ts owner key list --plain | awk -F '\t' '$3 == "second" { print $1 }')
ts owner key revoke "$second" 2>/dev/null
fails 77 "key" ts owner whoami --key-file "$scratch/second.key"
chmod 640 "$scratch/second.key"
fails 78 "may be read by others" ts owner whoami --key-file "$scratch/second.key"
fails 78 "No such file" ts owner whoami --key-file "$scratch/none.key"
same "the environment is no place for a key" 77 \
	"$(TEARSHARE_KEY=$(cat "$owner_key") plain --server "$url" --ca "$ca" whoami >/dev/null 2>&1; echo $?)"

# ---- the certificate ----
fails 76 "--ca FILE" plain --server "$url" --key-file "$owner_key" whoami
make_certificate "$scratch/other" "DNS:localhost" 30
fails 76 "not trusted" plain --server "$url" --ca "$scratch/other.pem" --key-file "$owner_key" whoami
fails 78 "cannot be used" plain --server "$url" --ca "$scratch/none.pem" --key-file "$owner_key" whoami
daemon_start named --certificate "$scratch/other.pem" --private-key "$scratch/other.key" --studio Named
fails 76 "for another name" plain --server "https://127.0.0.1:${daemon_port[named]}" --ca "$scratch/other.pem" \
	--key-file "$owner_key" whoami
daemon_stop named

# ---- the clock ----
if command -v faketime >/dev/null; then
	export FAKETIME_DONT_FAKE_MONOTONIC=1
	# faketime comes in front of a sanitizer's library, which minds by default.
	export ASAN_OPTIONS=${ASAN_OPTIONS:+$ASAN_OPTIONS:}verify_asan_link_order=0
	fails 76 "has expired" faketime '2 years' "$BUILD_DIR/tearshare" --profile owner whoami
	fails 76 "If the clock is wrong, set it" faketime '2 years' "$BUILD_DIR/tearshare" --profile owner whoami
	fails 76 "is not valid yet" faketime '2 years ago' "$BUILD_DIR/tearshare" --profile owner whoami
	fails 76 "If the clock is wrong, set it" faketime '2 years ago' "$BUILD_DIR/tearshare" --profile owner whoami
fi

# ---- the address ----
fails 65 "must be https" plain --server "http://studio.example:8443" --key-file "$owner_key" whoami
fails 65 "not the address" plain --server "studio.example" --key-file "$owner_key" whoami
fails 69 "is not there" plain --server "https://no-such-name.invalid" --key-file "$owner_key" whoami
status=0
plain --server "http://127.0.0.1:$port" --key-file "$owner_key" --wait 0 whoami >/dev/null 2>&1 || status=$?
checks=$((checks + 1))
case $status in
75 | 76) ;;
*) same "plain HTTP on the TLS port is not believed" "75 or 76" "$status" ;;
esac

# ---- the server ----
same "healthy" ok "$(ts owner health "$url" --plain | column status)"
daemon_stop one
fails 69 "is not there" ts owner whoami
fails 69 "is the server running" ts owner health "$url"

# ---- without a server ----
same "sizes need none" "81280 109728" "$(plain size 9x12.5in -m 1/2in --plain | column torn_u | paste -sd ' ')"
plain help >"$scratch/help"
same "help is at most 80 cells wide" 0 "$(awk 'length($0) > 80' "$scratch/help" | wc -l)"
plain completion bash >"$scratch/completion"
bash -n "$scratch/completion"
# offered COMMAND LINE: what bash would offer for the last word
offered() {
	bash -c '. "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _tearshare; printf "%s\n" "${COMPREPLY[@]}"' \
		- "$scratch/completion" "$@" | sort | paste -sd ' '
}
same "commands are offered" "paper papers-none" "$(offered tearshare pap) papers-none"
same "verbs are offered" "change close" "$(offered tearshare workshop c)"
same "options are offered" "--margin" "$(offered tearshare ask 10 9x12in --m)"
same "choices are offered" "a4" "$(offered tearshare sheet --page a)"
fails 64 "Did you mean: tearshare plan" plain paln
fails 64 "no option" plain ask 1 9x12in --uses 3
finish
