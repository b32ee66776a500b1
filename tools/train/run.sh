#!/bin/sh
# Draws crops and trains the net on them at the same time; leaves copper.net, copper.net.pt and train.log under $OUT (default .).
# usage: run.sh SEED MINUTES [train.py options]     on a machine with a GPU, PyTorch and many cores
# HARD: share of the boards that are hard to read (tools/boards/hard.c); CROWDED: of those that are densely set (crowd.c).
# WORK: a folder that keeps the newest crops for a further run. A second GPU, where there is one, trains a wider net beside.
set -eu
seed=$1 minutes=$2
shift 2
out=${OUT:-.}
work=${WORK:-$(mktemp -d)}
mkdir -p "$work"
[ -n "${WORK:-}" ] || trap 'rm -rf "$work"' EXIT
hard=${HARD:-0.55} crowded=${CROWDED:-0.45} checks="$work/check $work/hard $work/crowd"
cores=$(($(nproc) > 6 ? $(nproc) - 2 : 1))
part_size=2048 kept=40 # crops in a file, and files: 43 GB
# check NAME SEED OPTION ...: draws crops that are never trained on, once
check() {
    name=$1 other=$2
    shift 2
    [ -f "$work/$name" ] || "$work/boards" --out "$work/$name" --count 768 --seed $((seed + other)) --threads "$cores" "$@"
}
gcc -O3 -ffast-math -flto -march=native -fopenmp tools/boards/*.c -lm -o "$work/boards"
(
    # Drawing is what training waits for: large blocks of memory are kept, not given back after each crop.
    export GLIBC_TUNABLES=glibc.malloc.mmap_threshold=2000000000:glibc.malloc.trim_threshold=4000000000
    part=$(cat "$work/part" 2>/dev/null || echo 0)
    while [ -d "$work" ]; do
        "$work/boards" --out "$work/now" --count "$part_size" --seed "$seed" --first $((part * part_size / 8)) --threads "$cores" \
            --hard "$hard" --crowded "$crowded" || exit 0
        mv "$work/now" "$work/$(printf %04d "$part").rec"
        check check 1000000
        check hard 1000001 --hard 1
        check crowd 1000002 --hard 0.5 --crowded 1
        part=$((part + 1))
        echo $part >"$work/part"
        rm -f "$work/$(printf %04d $((part - kept))).rec"
    done
) &
draws=$!
export PYTHONUNBUFFERED=1
if [ "$(nvidia-smi -L | wc -l)" -gt 1 ]; then
    # $checks are three names
    # shellcheck disable=SC2086
    CUDA_VISIBLE_DEVICES=1 python3 tools/train/train.py "$work" --check $checks --minutes "$minutes" --seed "$seed" \
        --out "$out/wide.net" --wide "$@" >"$out/wide.log" 2>&1 &
    wide=$!
fi
# shellcheck disable=SC2086
CUDA_VISIBLE_DEVICES=0 python3 tools/train/train.py "$work" --check $checks --minutes "$minutes" --seed "$seed" \
    --out "$out/copper.net" "$@" 2>&1 | tee "$out/train.log"
[ -z "${wide:-}" ] || wait "$wide"
kill "$draws" 2>/dev/null || true
