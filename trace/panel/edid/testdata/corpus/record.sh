#!/bin/sh
# Records what edid-decode makes of each dump. Run here; Debian: apt-get install edid-decode.
set -eu
cd "$(dirname "$0")"
for f in [0-9]*.hex; do
	edid-decode --skip-hex-dump "$f" >"${f%.hex}.decoded.txt" || true
done
edid-decode --version >version.txt
