"""Waits until a widget has been painted for the first time from now on, the same way in both windows."""

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt


class Watch(QObject):
    """Calls `act` as soon as the paint of a widget, and of the whole window with it, is done."""

    def __init__(self, widget, act):
        super().__init__(widget)
        self._act = act
        widget.installEventFilter(self)

    def eventFilter(self, watched, event):
        """See the paint begin."""
        if event.type() == QEvent.Type.Paint:
            watched.removeEventFilter(self)
            # Comes once the paint is finished, and before whatever else waits for its turn.
            QCoreApplication.postEvent(self, QEvent(QEvent.Type.User), Qt.EventPriority.HighEventPriority.value)
        return False

    def event(self, event):
        """Act once it is done."""
        if event.type() == QEvent.Type.User:
            self._act()
            return True
        return super().event(event)
