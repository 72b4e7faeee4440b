#!/bin/sh
# Records the outputs of edid-decode and cvt that the tests compare with.
# Run it in this folder; it needs Debian's edid-decode and xcvt (see README.md).
set -eu

sizes="640x480 720x400 800x480 800x600 848x480 1024x576 1024x600 1024x768 1152x864 1280x720 1280x768 \
1280x800 1280x960 1280x1024 1360x768 1400x1050 1440x900 1600x900 1600x1200 1680x1050 1792x1344 1856x1392 \
1920x1080 1920x1200 1920x1280 1920x1440 2048x1152 2048x1536 2160x1440 2256x1504 2304x1440 2400x1600 \
2496x1664 2560x1080 2560x1440 2560x1600 2736x1824 2880x1800 3000x2000 3072x1920 3200x1800 3440x1440 \
3840x2160 3840x2400 4096x2160 5120x2880 7680x4320"
rates="24 30 40 48 50 59.94 60 75 90 120 144 165 240 360"
odd="1366x768 1350x900 1925x1083 3453x1443"

edid-decode --version > edid_decode_dmt.txt
edid-decode --list-dmts >> edid_decode_dmt.txt
id=1
while [ $id -le 88 ]; do
	edid-decode --dmt $id >> edid_decode_dmt.txt
	id=$((id + 1))
done

ask() { # size rate rb
	echo "$1 $2 rb=$3"
	edid-decode --cvt "w=${1%x*},h=${1#*x},fps=$2,rb=$3"
}

edid-decode --version > edid_decode_cvt.txt
for rb in 1 2; do
	for size in $sizes; do
		ask "$size" 60 $rb
	done
	for rate in $rates; do
		for size in 1280x800 1920x1080 2560x1600; do
			ask "$size" "$rate" $rb
		done
	done
	for size in $odd; do
		ask "$size" 60 $rb
	done
done >> edid_decode_cvt.txt

# cvt makes reduced blanking at multiples of 60 Hz only and rounds the width up,
# so it gets multiples of 8 here.
dpkg-query -W -f '${Package} ${Version}\n' xcvt > xcvt.txt
for size in $sizes; do
	echo "${size} 60 rb=1"
	cvt -r "${size%x*}" "${size#*x}" 60
done >> xcvt.txt
for size in 1856x1392 1920x1440; do
	echo "${size} 120 rb=1"
	cvt -r "${size%x*}" "${size#*x}" 120
done >> xcvt.txt
for rate in 120 180 240; do
	for size in 1280x800 1920x1080 2560x1600; do
		echo "${size} $rate rb=1"
		cvt -r "${size%x*}" "${size#*x}" "$rate"
	done
done >> xcvt.txt
