"""Run a command and write how long it took and how much memory: a small process of its own, so that the memory of
whoever asks is not counted.

    python measure.py COMMAND ARGUMENTS...

prints wall seconds, user CPU seconds, peak memory in MiB and the exit code; the command's own output is dropped.
"""

import resource
import subprocess
import sys
from time import perf_counter

KIB = 1024 if sys.platform == "darwin" else 1  # a peak is told in bytes there and in KiB elsewhere

start = perf_counter()
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False).returncode
wall = perf_counter() - start
used = resource.getrusage(resource.RUSAGE_CHILDREN)
sys.stdout.write(f"{wall} {used.ru_utime} {used.ru_maxrss / KIB / 1024} {code}\n")
