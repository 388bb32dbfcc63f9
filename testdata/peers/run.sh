#!/bin/sh
# Measures shimwright beside general-purpose solvers and prints a table.
#
#     testdata/peers/run.sh [--quick]
#
# Debian's packages: python3-scipy glpk-utils coinor-cbc. See docs/performance.md.
set -eu
case " $* " in
*" --part large "* | *" --help "* | *" -h "*) ;; # no peers
*)
	missing=
	for program in glpsol:glpk-utils cbc:coinor-cbc; do
		command -v "${program%%:*}" >/dev/null || missing="$missing ${program##*:}"
	done
	/usr/bin/python3 -c 'import scipy' 2>/dev/null || missing="$missing python3-scipy"
	if [ -n "$missing" ]; then
		echo "error: the solvers to compare with are not all here" >&2
		echo "  hint: apt-get install$missing" >&2
		exit 1
	fi
	;;
esac
here=$(cd "$(dirname "$0")" && pwd)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$here/../.."
mkdir "$folder/empty"
printf 'module empty\n' >"$folder/empty/go.mod"
printf 'package main\n\nfunc main() {}\n' >"$folder/empty/main.go"
(cd "$folder/empty" && go build -o "$folder/bin/empty" .)
for program in ./cmd/shimwright ./testdata/peers/make ./testdata/peers/alone; do
	go build -o "$folder/bin/$(basename "$program")" "$program"
done
/usr/bin/python3 "$here/table.py" "$@" "$folder"
