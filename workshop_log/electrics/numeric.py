"""numpy, loaded when the first array is made: a window that shows no circuit never pays for it."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    __all__ = ["np"]
else:

    class _Numpy:
        """Stands for the module numpy until a name of it is asked for."""

        def __getattr__(self, name: str) -> Any:
            # Circuits are small: a second thread gains nothing on them and takes the window's processor.
            os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
            import numpy

            # The next time the name is found here, without coming through this method.
            value = getattr(numpy, name)
            setattr(self, name, value)
            return value

    np = _Numpy()
