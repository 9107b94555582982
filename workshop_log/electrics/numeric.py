"""numpy, loaded when the first array is made: a window that shows no circuit never pays for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    __all__ = ["np"]
else:

    class _Numpy:
        """Stands for the module numpy until a name of it is asked for."""

        def __getattr__(self, name: str) -> Any:
            import numpy

            # The next time the name is found here, without coming through this method.
            value = getattr(numpy, name)
            setattr(self, name, value)
            return value

    np = _Numpy()
