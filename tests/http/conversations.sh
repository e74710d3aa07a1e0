#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Play every conversation of this folder against the HTTP part alone: plain, TLS, and over a
# unix socket.  What TLS itself may and may not do is asked with openssl and curl.
#
# start_server sets the addresses, under the names it is given.
# shellcheck disable=SC2154,SC2119,SC2120
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=tests/http/server.sh
. "$here/server.sh"

host=localhost # what the conversations call us

make_certificate one
start_server plain name=$host
start_server tls name=$host certificate="$work/one.pem" private-key="$work/one.key"
start_server socket name=$host listen=unix:"$work/socket"
start_server proxied name=$host proxy=127.0.0.1

"$BUILD_DIR/talk" "$plain" - "$here"/*.talk
"$BUILD_DIR/talk" "$tls" "$work/one.pem" "$here"/*.talk
"$BUILD_DIR/talk" "$socket" - "$here"/framing.talk

say "X-Forwarded-For counts from a proxy, and only its own part of it"
asks() { curl -sS -H "Host: $host" "$@"; }
expect "peer=192.0.2.7 " asks -H 'X-Forwarded-For: 192.0.2.7' "http://$proxied/echo"
expect "peer=192.0.2.7 " asks -H 'X-Forwarded-For: 203.0.113.9, 192.0.2.7' "http://$proxied/echo"
expect "peer=192.0.2.7 " asks -H 'X-Forwarded-For: 192.0.2.7, 127.0.0.1' "http://$proxied/echo"
expect "peer=127.0.0.1 " asks -H 'X-Forwarded-For: forged' "http://$proxied/echo"

say "over TLS the browser is told to come back over TLS"
expect "max-age=31536000" asks -i --cacert "$work/one.pem" --resolve "$host:${tls##*:}:127.0.0.1" \
	"https://$host:${tls##*:}/echo"

say "what TLS refuses"
shake() { openssl s_client -connect "$tls" -CAfile "$work/one.pem" -servername $host "$@" </dev/null 2>&1; }
expect "Verification: OK" shake
expect "ALPN protocol: http/1.1" shake -alpn h2,http/1.1
expect "no application protocol" shake -alpn h2
expect "New, TLSv1.2, Cipher is ECDHE" shake -tls1_2
expect "New, TLSv1.3" shake -tls1_3
expect "handshake failure" shake -tls1_2 -cipher 'AES128-GCM-SHA256:AES128-SHA'
expect "handshake failure" shake -tls1_2 -cipher 'ECDHE-ECDSA-AES128-SHA:ECDHE-ECDSA-AES256-SHA384'
expect "alert protocol version" shake -tls1_1 -cipher 'DEFAULT@SECLEVEL=0'
clear_text=$(curl -sS --max-time 20 "http://$tls/echo" 2>&1 || true)
case $clear_text in
*method=*) die "the TLS port answered in clear text" ;;
esac

say "the certificate is read again, and a broken one is not taken"
serial() { shake | openssl x509 -noout -serial; }
before=$(serial)
make_certificate one
reload tls reloaded
[ "$(serial)" != "$before" ] || die "the old certificate is still shown"
before=$(serial)
echo broken >"$work/one.pem"
reload tls "cannot be read"
after=$(openssl s_client -connect "$tls" </dev/null 2>/dev/null | openssl x509 -noout -serial)
[ "$after" = "$before" ] || die "a broken certificate was taken"
say "done"
