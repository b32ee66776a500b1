#!/bin/sh
# Draws crops and trains the net on them at the same time; leaves copper.net, copper.net.pt and train.log under $OUT (default .).
# usage: run.sh SEED MINUTES [train.py options]     on a machine with a GPU, PyTorch and many cores
set -eu
seed=$1 minutes=$2
shift 2
out=${OUT:-.}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cores=$(($(nproc) > 3 ? $(nproc) - 2 : 1))
gcc -O3 -march=native -fopenmp tools/boards/*.c -lm -o "$work/boards"
(
    part=0
    while [ -d "$work" ]; do
        "$work/boards" --out "$work/now" --count 4096 --seed "$seed" --first $((part * 512)) --threads "$cores" || exit 0
        mv "$work/now" "$work/$(printf %04d $part).rec"
        [ $part -ne 0 ] || "$work/boards" --out "$work/check" --count 768 --seed $((seed + 1000000)) --threads "$cores"
        part=$((part + 1))
    done
) &
PYTHONUNBUFFERED=1 python3 tools/train/train.py "$work" --check "$work/check" --minutes "$minutes" --seed "$seed" \
    --out "$out/copper.net" "$@" 2>&1 | tee "$out/train.log"
