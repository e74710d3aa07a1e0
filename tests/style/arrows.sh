#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Folders include and link only along the permitted arrows:
#
#     base <- plan, share <- store, print <- web, work <- main
#     base <- http <- web;  base <- cli
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

declare -A may=(
	[base]=""
	[plan]="base"
	[share]="base"
	[store]="base plan share"
	[print]="base plan share"
	[http]="base"
	[web]="base plan share store print http"
	[work]="base plan share store print"
	[cli]="base"
	[main]="base plan share store print http web work"
	[cli-main]="base cli"
)

permitted() {
	[ "$1" = "$2" ] || [[ " ${may[$1]} " == *" $2 "* ]]
}

# folder_of PATH: sets folder to the one under whose rules the file lives (no subshell: there are many).
folder_of() {
	folder=${1#*/}
	case $1 in
	cli/main.c) folder=cli-main ;;
	daemon/*/*) folder=${folder%%/*} ;;
	daemon/*) folder=main ;;
	cli/*) folder=cli ;;
	*) folder="" ;;
	esac
}

# includes TREE: every #include "x.h" whose owner the including folder may not see; a header's
# name is its own in the whole tree, so the owner is known from the name alone.
includes() {
	local tree=$1 file header from owner path folder
	declare -A owners=()
	while read -r path; do
		header=${path##*/}
		folder_of "$path"
		owner=$folder
		if [ -n "${owners[$header]:-}" ] && [ "${owners[$header]}" != "$owner" ]; then
			echo "$path: a second header named $header; the other is in ${owners[$header]}/"
		fi
		owners[$header]=$owner
		owners[$owner/$header]=$owner
	done < <(sources "$tree" -path './daemon/*.h' -o -path './cli/*.h')
	while IFS=: read -r file header; do
		folder_of "$file"
		from=$folder
		if [ -z "$from" ] || [ -z "${may[$from]+known}" ]; then
			echo "$file: no arrow is known for folder \"$from\""
			continue
		fi
		case $header in
		*/*) echo "$file: includes \"$header\" by a path; plain names only" ;;
		*)
			owner=${owners[${from%-main}/$header]:-${owners[$header]:-}}
			if [ -z "$owner" ]; then
				echo "$file: includes \"$header\", which no folder owns"
			elif ! permitted "$from" "$owner"; then
				echo "$file: includes \"$header\" of $owner/, and $from/ may not use $owner/"
			fi
			;;
		esac
	done < <(cd "$tree" && sources . -path './daemon/*.[ch]' -o -path './cli/*.[ch]' |
		xargs grep -HoE '^[[:space:]]*#[[:space:]]*include[[:space:]]*"[^"]+"' |
		sed -E 's/:[^"]*"([^"]+)"$/:\1/')
}

# links FILE: CMake's own link graph, written when it configures as "folder: library..."
links() {
	local from to rest
	while IFS=: read -r from rest; do
		for to in ${rest//;/ }; do
			if [ -n "${may[$to]+known}" ] && ! permitted "$from" "$to"; then
				echo "CMakeLists.txt: $from links $to"
			fi
		done
	done <"$1"
}

tree=$(copy_tree)
mkdir -p "$tree/daemon/plan" "$tree/daemon/store"
echo '#include "planted.h"' >"$tree/daemon/plan/planted.c"
echo '/* planted */' >"$tree/daemon/store/planted.h"
must_find "plan including store" 'plan/planted\.c: includes "planted.h" of store/' includes "$tree"
echo '  #  include "../base/err.h"' >"$tree/daemon/plan/planted.c"
must_find "an include by path" 'plan/planted\.c: .* by a path' includes "$tree"
printf 'base:\nplan:base;store\n' >"$scratch/arrows.txt"
must_find "plan linking store" 'plan links store' links "$scratch/arrows.txt"

must_be_silent "includes outside the arrows" includes "$SOURCE_DIR"
must_be_silent "links outside the arrows" links "${BUILD_DIR:?}/arrows.txt"
grep -q '^base:' "$BUILD_DIR/arrows.txt" || {
	echo "$BUILD_DIR/arrows.txt lists no folder"
	wrong=1
}
finish
