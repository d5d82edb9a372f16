#!/bin/sh
# Makes every sample that is not there yet: make-all.sh WORK_DIR   (from the repository's root)
set -e
cd "$(dirname "$0")/../.."
python3 -c "
import sys; sys.dont_write_bytecode = True; sys.path.insert(0, 'samples/render')
from shots import SHOTS
for s in SHOTS.values(): print(s.name, s.folder)" | while read -r name folder; do
  [ -f "samples/$folder/photos/$name.jpg" ] || samples/render/make-one.sh "$name" "$1" "samples/$folder" </dev/null
done
