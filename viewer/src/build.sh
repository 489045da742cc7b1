#!/bin/sh
# Makes viewer/static/app.js (or the file named) from viewer/src. Run where npm is; users of the package need neither.
set -eu
out=${1:-$(cd "$(dirname "$0")" && pwd)/../static/app.js}
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
# a copy, so that no node_modules folder ends up in the wheel
cp -r "$here"/. "$work"
cd "$work"
npm ci --silent
npx esbuild app.js --bundle --minify --format=iife --target=es2020 --legal-comments=eof --outfile="$out"
