#!/bin/sh
# Makes the outputs of the tools from the two dumps and from full.bin. See README.md.
set -e
cd "$(dirname "$0")"
python3 -c 'import sys; sys.stdout.buffer.write(bytes(range(256)) + bytes(64) + b"\xff" * 64)' > full.bin
for f in 4524225C4E1F 739DB2CFE9C4; do
	sed -n '3,10p' $f.txt | xxd -r -p > $f.bin
done
for f in 4524225C4E1F 739DB2CFE9C4 full; do
	xxd $f.bin > $f.xxd
	xxd -a $f.bin > $f.xxd-a
	xxd -g1 -u $f.bin > $f.xxd-g1
	xxd -p $f.bin > $f.xxd-p
	xxd -i $f.bin > $f.xxd-i
	hexdump -C $f.bin > $f.hexdump-C
	od -A x -t x1 $f.bin > $f.od-x
	od -t x1 $f.bin > $f.od-o
	hexdump $f.bin > $f.hexdump-words
	od $f.bin > $f.od-words
done
