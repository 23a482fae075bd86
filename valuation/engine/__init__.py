"""The engine: from what was found on a piano to a verdict that explains itself. Pure and typed strictly.

What for: facts -> evidence -> condition -> remedies -> plans -> decision -> advice, one module and one public
function a step. `valuation.engine.appraise.appraise` runs the whole way. May import: NumPy and the rows of the
tables. Never: screens, storage, files, the clock, chance of its own.
"""

import numpy as np  # noqa: F401  (its library of linear algebra must be there to be told)
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped]

# Many small products of matrices: threads that wait for each other would make them some twenty times slower.
threadpool_limits(1, user_api="blas")
