#!/bin/sh
# Writes inkscape.svg and inkscape.dxf: shapes that Inkscape 1.2 turned, cut and cloned.
# Needs inkscape (Debian: apt-get install inkscape) and, for DXF, python3-lxml and python3-numpy.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
out=${1:-$here/..}
inkscape "$here/inkscape-input.svg" --export-type=svg --export-filename="$out/inkscape.svg" \
  --actions="select-by-id:plate,hole;path-difference;select-clear;select-by-id:egg;transform-rotate:25;select-clear;select-by-id:fin;clone;transform-translate:150,-5"
inkscape "$out/inkscape.svg" --export-type=dxf --export-filename="$out/inkscape.dxf"
