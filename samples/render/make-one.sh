#!/bin/sh
# Makes one sample: make-one.sh NAME WORK_DIR OUT_DIR   (from the repository's root; sheets in WORK_DIR/sheets)
set -e
here=samples/render
mkdir -p "$2" "$3/photos" "$3/truth"
[ -f "$2/sheets/sheets.json" ] || npx tsx $here/sheet-texture.ts "$2/sheets"
# The truth first: shots.py must say the same before and after.
python3 $here/truth.py --shot "$1" --out "$2"
nice -n 10 blender -b -P $here/render.py -t "${THREADS:-2}" -- --shot "$1" --sheets "$2/sheets" --out "$2" | grep -E "$1:|Error|error" || true
nice -n 10 python3 $here/develop.py --shot "$1" --out "$2"
npx tsx $here/encode.ts "$2" "$1" "$3/photos"
mv "$2/$1.json" "$3/truth/"
rm -f "$2/$1.rgb"
