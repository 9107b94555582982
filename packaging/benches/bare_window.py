"""A process with an empty Qt window: prints when it was painted, and what it takes of memory. JSON on one line."""

import sys
import time

from PySide6.QtWidgets import QApplication, QWidget
from watch import Watch


def told():
    painted = time.monotonic_ns()
    import json

    from memory import memory_kib

    print(json.dumps({"painted": painted, "memory": memory_kib()}), flush=True)
    app.quit()


app = QApplication(sys.argv[:1])
window = QWidget()
window.resize(1280, 800)
watch = Watch(window, told)
window.show()
app.exec()
