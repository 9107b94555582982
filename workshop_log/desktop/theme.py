"""Colours, fonts and sizes of the window, light and dark."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from workshop_log import resources

# Nothing on screen is in italics.
FONTS = ("Lato-Regular.ttf", "Lato-Bold.ttf")
# Text on screen is never smaller than this.
TEXT_PT = 11
# Smallest side of anything to be pressed with a glove.
TARGET_PX = 44


# A tuple, because the first paint waits for this module and a dataclass takes a millisecond to make.
class Theme(NamedTuple):
    """One set of colours; every pair of text and ground keeps a contrast of 4.5 : 1."""

    name: str
    ground: str
    # Lists, fields and cards lie on this.
    sheet: str
    # The strip on top and the list on the left.
    band: str
    ink: str
    faint_ink: str
    rule: str
    accent: str
    on_accent: str
    # Ground under what is selected.
    picked: str
    # The three verdicts.
    inside: str
    outside: str
    too_close: str
    # Ground and text of a caution.
    caution_ground: str
    caution_ink: str

    def text_pairs(self) -> tuple[tuple[str, str, str], ...]:
        """Return every pair of text and ground that the window uses: (what, text, ground)."""
        grounds = (("ground", self.ground), ("sheet", self.sheet), ("band", self.band), ("picked", self.picked))
        inks = (("ink", self.ink), ("faint ink", self.faint_ink), ("accent", self.accent), ("inside", self.inside),
                ("outside", self.outside), ("too close", self.too_close))
        pairs = [(f"{i} on {g}", ink, ground) for i, ink in inks for g, ground in grounds]
        return (*pairs, ("on accent", self.on_accent, self.accent),
                ("caution", self.caution_ink, self.caution_ground))


LIGHT = Theme(
    name="light", ground="#F6F5F1", sheet="#FFFFFF", band="#ECEAE3", ink="#1C1F24", faint_ink="#565B63",
    rule="#D3D0C6", accent="#0B5D5E", on_accent="#FFFFFF", picked="#DCE9E6",
    inside="#1F559E", outside="#9C4203", too_close="#5E5478",
    caution_ground="#FBE9CF", caution_ink="#4A2B00",
)
DARK = Theme(
    name="dark", ground="#16191C", sheet="#1E2226", band="#111417", ink="#E8E6E0", faint_ink="#A9ADB3",
    rule="#343A40", accent="#6CC9C2", on_accent="#0A2423", picked="#24393A",
    inside="#8DB8F2", outside="#F2A45C", too_close="#BDB2DB",
    caution_ground="#4A3510", caution_ink="#FBE3B5",
)


def relative_luminance(colour: str) -> float:
    """Return the relative luminance of an sRGB colour `#rrggbb` (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours (WCAG 2.2, definition of contrast ratio)."""
    light, dark = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def system_theme() -> Theme:
    """Return the theme that the desktop asks for."""
    return DARK if QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark else LIGHT


_state: dict[str, Theme] = {"theme": LIGHT}


def current() -> Theme:
    """Return the theme in use; what paints itself asks here at every paint."""
    return _state["theme"]


def load_fonts() -> str:
    """Load the fonts that the window uses and return their family."""
    families = []
    for name in FONTS:
        number = QFontDatabase.addApplicationFont(str(resources.path(f"fonts/{name}")))
        families += QFontDatabase.applicationFontFamilies(number) if number >= 0 else []
    return families[0] if families else QApplication.font().family()


def apply(app: QApplication, theme: Theme) -> None:
    """Give the whole application the theme `theme`."""
    _state["theme"] = theme
    app.setPalette(_palette(theme))
    app.setStyleSheet(_style_sheet(theme))


def set_fonts(app: QApplication) -> None:
    """Set the application's font from the shipped files, never under `TEXT_PT`."""
    font = QFont(load_fonts())
    font.setPointSizeF(TEXT_PT)
    app.setFont(font)


def _palette(theme: Theme) -> QPalette:
    role = QPalette.ColorRole
    colours = {
        role.Window: theme.ground, role.WindowText: theme.ink, role.Base: theme.sheet, role.AlternateBase: theme.ground,
        role.Text: theme.ink, role.Button: theme.band, role.ButtonText: theme.ink, role.Highlight: theme.picked,
        role.HighlightedText: theme.ink, role.ToolTipBase: theme.sheet, role.ToolTipText: theme.ink,
        role.PlaceholderText: theme.faint_ink, role.Link: theme.accent, role.Mid: theme.rule, role.Light: theme.sheet,
        role.Dark: theme.faint_ink, role.Midlight: theme.rule, role.Shadow: theme.rule, role.Accent: theme.accent,
    }
    palette = QPalette()
    for key, colour in colours.items():
        palette.setColor(key, QColor(colour))
    for key in (role.Text, role.WindowText, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, key, QColor(theme.faint_ink))
    return palette


def _style_sheet(t: Theme) -> str:
    return f"""
    QLabel[part="faint"], QLabel[part="hint"] {{ color: {t.faint_ink}; }}
    QLabel[part="heading"] {{ font-size: 15pt; font-weight: 600; color: {t.ink}; }}
    QLabel[part="section"] {{ font-size: 12pt; font-weight: 600; color: {t.accent}; }}
    QLabel[part="strong"] {{ font-weight: 600; }}
    QLabel[part="figure"] {{ font-size: 15pt; font-weight: 600; }}
    QLabel[part="problem"] {{ color: {t.outside}; }}
    QLabel[part="caution"] {{ background: {t.caution_ground}; color: {t.caution_ink}; padding: 6px 10px;
        border-left: 4px solid {t.outside}; }}
    QLabel[part="plate"] {{ background: {t.sheet}; border: 2px solid {t.ink}; border-radius: 4px; padding: 2px 10px;
        font-size: 15pt; font-weight: 700; }}
    QWidget[part="band"], QFrame[part="band"] {{ background: {t.band}; }}
    QFrame[part="proposal"] {{ background: {t.sheet}; border: 1px solid {t.rule}; border-radius: 5px; }}
    QFrame[part="proposal"][open="true"] {{ border-left: 4px solid {t.accent}; }}
    QFrame[part="proposal"]:focus {{ border: 2px solid {t.accent}; }}
    QWidget[part="doubt"] {{ background: {t.caution_ground}; border: none; border-left: 4px solid {t.outside}; }}
    QWidget[part="doubt"] QLabel {{ color: {t.caution_ink}; }}
    QFrame[part="card"] {{ background: {t.sheet}; border: 1px solid {t.rule}; border-radius: 6px; }}
    QLineEdit, QPlainTextEdit, QComboBox, QSpinBox, QDateTimeEdit {{ background: {t.sheet}; color: {t.ink};
        placeholder-text-color: {t.faint_ink};
        border: 1px solid {t.rule}; border-radius: 4px; padding: 5px 8px; selection-background-color: {t.accent};
        selection-color: {t.on_accent}; }}
    QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus, QSpinBox:focus {{ border: 2px solid {t.accent};
        padding: 4px 7px; }}
    QLineEdit[problem="true"], QPlainTextEdit[problem="true"] {{ border: 2px solid {t.outside}; padding: 4px 7px; }}
    QLineEdit[part="entry"] {{ font-size: 15pt; padding: 8px 12px; border: 2px solid {t.accent}; }}
    QComboBox {{ combobox-popup: 0; }}
    QComboBox QAbstractItemView::item {{ min-height: 30px; padding: 2px 8px; }}
    QComboBox::drop-down {{ border: none; width: 26px; }}
    QComboBox::down-arrow {{ image: url({resources.path(f"icons/chevron-{t.name}.svg").as_posix()}); width: 14px;
        height: 14px; }}
    QComboBox QAbstractItemView {{ background: {t.sheet}; border: 1px solid {t.rule};
        selection-background-color: {t.picked}; selection-color: {t.ink}; }}
    QPushButton, QToolButton {{ background: {t.sheet}; color: {t.ink}; border: 1px solid {t.rule}; border-radius: 4px;
        padding: 7px 14px; }}
    QProgressBar {{ background: {t.rule}; border: none; border-radius: 4px; }}
    QProgressBar::chunk {{ background: {t.accent}; border-radius: 4px; }}
    QPushButton:hover, QToolButton:hover {{ border-color: {t.accent}; }}
    QPushButton:focus, QToolButton:focus {{ border: 2px solid {t.accent}; padding: 6px 13px; }}
    QPushButton:disabled, QToolButton:disabled {{ color: {t.faint_ink}; background: {t.ground}; }}
    QPushButton[part="main"] {{ background: {t.accent}; color: {t.on_accent}; border-color: {t.accent};
        font-weight: 600; }}
    QPushButton[part="main"]:focus {{ border: 2px solid {t.ink}; }}
    QPushButton[part="main"]:disabled {{ background: {t.band}; color: {t.faint_ink}; border-color: {t.rule}; }}
    QPushButton:checked, QToolButton:checked {{ background: {t.picked}; border-color: {t.accent}; font-weight: 600; }}
    QToolButton[part="page"] {{ background: transparent; border: none; border-bottom: 3px solid transparent;
        border-radius: 0; padding: 9px 14px; font-size: 12pt; }}
    QToolButton[part="page"]:hover {{ border-bottom-color: {t.rule}; }}
    QToolButton[part="page"]:focus {{ border: 1px dotted {t.accent}; border-bottom: 3px solid {t.rule};
        padding: 8px 13px; }}
    QToolButton[part="page"]:checked {{ border-bottom-color: {t.accent}; color: {t.accent}; font-weight: 600; }}
    QToolButton[part="quiet"], QPushButton[part="quiet"] {{ background: transparent; border: 1px solid transparent;
        color: {t.accent}; padding: 4px 7px; }}
    QToolButton[part="quiet"]:hover, QPushButton[part="quiet"]:hover {{ border-color: {t.rule}; }}
    QToolButton[part="quiet"]:focus, QPushButton[part="quiet"]:focus {{ border: 1px solid {t.accent}; }}
    QPushButton[part="fold"] {{ background: transparent; border: 1px solid transparent; color: {t.accent};
        font-size: 12pt; font-weight: 600; text-align: left; padding: 4px 0; }}
    QPushButton[part="fold"]:focus {{ border: 1px solid {t.accent}; }}
    QPushButton[part="fold"][plain="true"] {{ font-size: 11pt; font-weight: 400; }}
    QPushButton[part="fold"][caution="true"] {{ font-size: 11pt; font-weight: 400; color: {t.caution_ink}; }}
    QPushButton[part="fold"][caution="true"]:focus {{ border: 1px solid {t.caution_ink}; }}
    QToolButton::menu-indicator {{ image: none; }}
    QListView, QTableView, QTreeView {{ background: {t.sheet}; border: 1px solid {t.rule}; border-radius: 4px;
        gridline-color: {t.rule}; outline: none; }}
    QListWidget::item {{ padding: 5px 6px; }}
    QListWidget::item:selected {{ background: {t.picked}; color: {t.ink}; }}
    QDialogButtonBox {{ dialogbuttonbox-buttons-have-icons: 0; }}
    QMessageBox {{ dialogbuttonbox-buttons-have-icons: 0; }}
    QListView[part="flat"], QListView[part="flat"]:focus {{ background: transparent; border: none; }}
    QListView[part="book"] {{ background: {t.band}; border: none; border-radius: 0; }}
    QTableView:focus, QListView:focus {{ border: 1px solid {t.accent}; }}
    QTableView::item:selected {{ background: {t.picked}; color: {t.ink}; }}
    QHeaderView {{ background: {t.sheet}; }}
    QHeaderView::section {{ background: {t.sheet}; color: {t.faint_ink}; border: none;
        border-bottom: 1px solid {t.rule}; padding: 6px 8px; }}
    QScrollArea {{ border: none; background: transparent; }}
    QScrollArea > QWidget > QWidget[part="page-body"] {{ background: {t.ground}; }}
    QScrollBar:vertical {{ background: transparent; width: 12px; margin: 0; }}
    QScrollBar::handle:vertical {{ background: {t.rule}; border-radius: 5px; min-height: 40px; margin: 1px; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ height: 0; width: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
    QSplitter::handle {{ background: {t.rule}; }}
    QMenuBar {{ background: {t.band}; color: {t.ink}; }}
    QMenuBar::item {{ padding: 5px 10px; background: transparent; }}
    QMenuBar::item:selected, QMenu::item:selected {{ background: {t.picked}; color: {t.ink}; }}
    QMenu {{ background: {t.sheet}; color: {t.ink}; border: 1px solid {t.rule}; }}
    QMenu::item {{ padding: 7px 26px; }}
    QMenu::item:disabled {{ color: {t.faint_ink}; }}
    QStatusBar {{ background: {t.band}; color: {t.faint_ink}; }}
    QToolTip {{ background: {t.sheet}; color: {t.ink}; border: 1px solid {t.rule}; padding: 4px; }}
    QSlider::groove:horizontal {{ height: 4px; background: {t.rule}; border-radius: 2px; }}
    QSlider::sub-page:horizontal {{ background: {t.faint_ink}; border-radius: 2px; }}
    QSlider::handle:horizontal {{ background: {t.sheet}; border: 2px solid {t.accent}; width: 18px; height: 18px;
        margin: -9px 0; border-radius: 11px; }}
    QSlider::handle:horizontal:focus {{ background: {t.accent}; }}
    QCheckBox, QRadioButton {{ spacing: 8px; padding: 3px; }}
    QCheckBox::indicator {{ width: 16px; height: 16px; border: 2px solid {t.faint_ink}; border-radius: 4px;
        background: {t.sheet}; }}
    QCheckBox::indicator:focus, QCheckBox::indicator:hover {{ border-color: {t.accent}; }}
    QCheckBox::indicator:checked {{ background: {t.accent}; border-color: {t.accent};
        image: url({resources.path(f"icons/tick-{t.name}.svg").as_posix()}); }}
    QRadioButton::indicator {{ width: 14px; height: 14px; border: 2px solid {t.faint_ink}; border-radius: 9px;
        background: {t.sheet}; }}
    QRadioButton::indicator:focus, QRadioButton::indicator:hover, QRadioButton::indicator:checked {{
        border-color: {t.accent}; }}
    QRadioButton::indicator:checked {{ background: qradialgradient(cx: 0.5, cy: 0.5, radius: 0.5, fx: 0.5, fy: 0.5,
        stop: 0 {t.accent}, stop: 0.55 {t.accent}, stop: 0.65 {t.sheet}, stop: 1 {t.sheet}); }}
    QSpinBox {{ padding-right: 26px; }}
    QSpinBox::up-button, QSpinBox::down-button {{ subcontrol-origin: border; width: 24px; border: none;
        background: transparent; }}
    QSpinBox::up-button {{ subcontrol-position: top right; }}
    QSpinBox::down-button {{ subcontrol-position: bottom right; }}
    QSpinBox::up-arrow {{ image: url({resources.path(f"icons/chevron-up-{t.name}.svg").as_posix()}); width: 12px;
        height: 12px; }}
    QSpinBox::down-arrow {{ image: url({resources.path(f"icons/chevron-{t.name}.svg").as_posix()}); width: 12px;
        height: 12px; }}
    QCheckBox:focus, QRadioButton:focus {{ color: {t.accent}; }}
    """
