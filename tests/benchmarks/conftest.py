"""Lets the benchmarks import their helpers, and holds libraries to one thread before numpy starts."""

import os
import sys
from pathlib import Path

# Threads of the linear algebra library spin on small products and slow everything on a shared machine.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parent))
