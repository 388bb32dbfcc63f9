#!/bin/sh
# Measures shimwright beside general-purpose solvers and prints a table.
#
#     testdata/peers/run.sh [--quick]
#
# Debian's packages: python3-scipy glpk-utils coinor-cbc. See docs/performance.md.
set -eu
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
