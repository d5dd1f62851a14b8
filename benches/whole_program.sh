#!/usr/bin/env bash
# What a person waits for: `hatchward ask` from start to answer, and the memory it takes at most.
# Usage: benches/whole_program.sh [RUNS]    prints the median and worst time, and the resident memory of one run.
# Aims: 50 ms and 40 MiB. Needs bash 5 (EPOCHREALTIME); memory is read by /usr/bin/time -v (GNU) where it is installed,
# else by Python's resource module.
set -euo pipefail
cd "$(dirname "$0")/.."
runs="${1:-31}"
cargo build --release --locked --quiet
program="${CARGO_TARGET_DIR:-target}/release/hatchward"
question='1.0 albino het clown x 0.1 clown, odds in 7 eggs?'
"$program" ask "$question" >/dev/null # once, so that the file is in memory
for _ in $(seq "$runs"); do
  begun=$EPOCHREALTIME
  "$program" ask "$question" >/dev/null
  ended=$EPOCHREALTIME
  echo $(((${ended/./} - ${begun/./})))
done | sort -n | awk '{ t[NR] = $1 } END { printf "start to answer: median %.1f ms, worst %.1f ms of %d runs\n", t[int((NR + 1) / 2)] / 1000, t[NR] / 1000, NR }'
if [ -x /usr/bin/time ]; then
  /usr/bin/time -v "$program" ask "$question" 2>&1 >/dev/null | awk '/Maximum resident/ { printf "resident memory: %.1f MiB\n", $NF / 1024 }'
else
  python3 - "$program" "$question" <<'PY'
import resource, subprocess, sys
subprocess.run([sys.argv[1], "ask", sys.argv[2]], stdout=subprocess.DEVNULL, check=True)
print(f"resident memory: {resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024:.1f} MiB")
PY
fi
