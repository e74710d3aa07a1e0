#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Run the console blocks of a document (README.md, or $DOC) in their order, in one shell, and compare what they print.
#
# In the README a "…" within a line stands for anything on that line; a line that is only "…"
# for any number of lines.  The port is exchanged for a free one.
set -euo pipefail
SOURCE_DIR=${SOURCE_DIR:-$(cd "$(dirname "$0")/../.." && pwd)}
BUILD_DIR=${BUILD_DIR:-$SOURCE_DIR/.build/release}
doc=${DOC:-README.md}

place=$(mktemp -d)
stop() {
	if [ -s "$place/pid" ]; then kill "$(cat "$place/pid")" 2>/dev/null || true; fi
	rm -rf "$place"
}
trap stop EXIT
chmod 755 "$place"

free_port() {
	local port
	for port in $(shuf -i 20000-29999 -n 50); do
		if ! (: <"/dev/tcp/127.0.0.1/$port") 2>/dev/null; then
			echo "$port"
			return
		fi
	done
}
port=$(free_port)

# One line "command TAB" a command, with its continuation lines; expected output after it.
commands=$place/commands expected=$place/expected
# shellcheck disable=SC2016 # backquotes of Markdown, not of the shell
sed -n '/^```console$/,/^```$/p' "$SOURCE_DIR/$doc" | grep -v '^```' |
	sed "s/8643/$port/g" >"$expected"
[ "$(grep -c '^\$ ' "$expected")" -ge 15 ] || {
	echo "$doc: the examples are gone"
	exit 1
}

# The commands as a script that prints each before its output.
{
	echo 'set -u'
	while IFS= read -r line; do
		case $line in
		'$ '*) printf 'printf "%%s\\n" %q\n%s\n' "$line" "${line#\$ }" ;;
		'> '*) printf '%s\n' "${line#> }" ;;
		esac
	done <"$expected"
} >"$commands"

unset "${!PG@}" XDG_CONFIG_HOME
(
	cd "$place"
	HOME=$place PATH=$BUILD_DIR:$PATH LC_ALL=C.UTF-8 TZ=UTC bash "$commands" </dev/null
) >"$place/printed" 2>&1 || true

grep -v '^> ' "$expected" >"$place/wanted"
awk -v doc="$doc" '
	function glob(line,   out, i, part, n, parts) {
		n = split(line, parts, "…")
		out = "^"
		for (i = 1; i <= n; i++) {
			part = parts[i]
			gsub(/[][\\.^$*+?(){}|]/, "\\\\&", part)
			out = out part (i < n ? ".*" : "")
		}
		return out "$"
	}
	NR == FNR { wanted[++n] = $0; next }
	{ printed[++m] = $0 }
	END {
		for (i = j = 1; i <= n; i++) {
			if (wanted[i] == "…") {
				while (j <= m && !(i == n || printed[j] ~ glob(wanted[i + 1])))
					j++
			} else if (j > m || printed[j] !~ glob(wanted[i])) {
				print doc " says: " wanted[i]
				print "it prints:      " (j > m ? "nothing more" : printed[j])
				exit 1
			} else {
				j++
			}
		}
		if (j <= m && wanted[n] != "…") {
			print "it prints more: " printed[j]
			exit 1
		}
	}
' "$place/wanted" "$place/printed"
