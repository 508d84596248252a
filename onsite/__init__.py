"""onsite: from the client's list of people to every frame under the right name."""

import os

# Workers have a core each: threads that OpenBLAS starts for one of them would only compete with the others.
# It looks at this once, when NumPy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
