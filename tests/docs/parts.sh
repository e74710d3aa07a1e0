#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The parts list of docs/security.md against what is installed: a library of another version
# than the table says has not been looked at.
set -euo pipefail
SOURCE_DIR=${SOURCE_DIR:-$(cd "$(dirname "$0")/../.." && pwd)}

rows=$(sed -n 's/^| \([a-z0-9.+-]*\) | \([0-9.]*\) | .*/\1 \2/p' "$SOURCE_DIR/docs/security.md")
[ "$(wc -l <<<"$rows")" -ge 8 ] || {
	echo "docs/security.md: the parts list is gone"
	exit 1
}

wrong=0
while read -r package version; do
	have=$(dpkg-query -W -f '${Version}' "$package" 2>/dev/null) || have="not installed"
	have=${have#*:}
	case $have in
	"$version" | "$version".* | "$version"-* | "$version"+*) ;;
	*)
		echo "$package: the table says $version, the machine has $have"
		wrong=1
		;;
	esac
done <<<"$rows"
exit $wrong
