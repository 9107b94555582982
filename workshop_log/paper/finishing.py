"""What ReportLab cannot write: the structure for screen readers, the attached job file, XMP, and fixed dates.

Everything depends on the input alone, so the same report has the same bytes.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from workshop_log.paper.tagging import Content, Link

if TYPE_CHECKING:
    import pikepdf

    from workshop_log.paper.pages import DrawnPages
    from workshop_log.paper.tagging import Element

LANGUAGE = "en-GB"
# The key of the fingerprint among the document's properties.
FINGERPRINT = "/Fingerprint"


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file that travels inside the PDF."""

    name: str
    data: bytes
    media_type: str
    description: str


def finish(pages: DrawnPages, title: str, author: str, issued: datetime, attachment: Attachment | None = None,
           fingerprint: str = "") -> bytes:
    """Return the finished PDF; `fingerprint` is written into its properties, where `verify` looks for it."""
    import pikepdf

    with pikepdf.open(io.BytesIO(pages.pdf)) as pdf:
        _add_structure(pdf, pages.structure.root)
        if attachment is not None:
            _attach(pdf, attachment, issued)
        _describe(pdf, title, author, issued, fingerprint)
        # ReportLab's identifier depends on the environment; a new one is made from the contents.
        del pdf.trailer.ID
        file = io.BytesIO()
        pdf.save(file, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return file.getvalue()


def _pdf_date(moment: datetime) -> str:
    return f"D:{moment.astimezone(UTC):%Y%m%d%H%M%S}Z"


def _describe(pdf: pikepdf.Pdf, title: str, author: str, issued: datetime, fingerprint: str) -> None:
    """Write the dates and the XMP metadata; ReportLab's own date is that of no report."""
    import pikepdf

    for key in ("/CreationDate", "/ModDate"):
        pdf.docinfo[key] = pikepdf.String(_pdf_date(issued))
    if fingerprint:
        pdf.docinfo[FINGERPRINT] = pikepdf.String(fingerprint)
    stamp = f"{issued.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
    with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as metadata:
        metadata["dc:title"] = title
        metadata["dc:language"] = {LANGUAGE}
        if author:
            metadata["dc:creator"] = [author]
        metadata["xmp:CreatorTool"] = "Workshop Log"
        if fingerprint:
            # The same once more, for readers that know XMP alone; Dublin Core's name for what tells a document apart.
            metadata["dc:identifier"] = f"sha256:{fingerprint}"
        metadata["xmp:CreateDate"] = metadata["xmp:ModifyDate"] = stamp
    pdf.Root.Lang = pikepdf.String(LANGUAGE)


def _attach(pdf: pikepdf.Pdf, attachment: Attachment, issued: datetime) -> None:
    """Attach a file and name it as the data behind the document."""
    import pikepdf

    specification = pikepdf.AttachedFileSpec(
        pdf, attachment.data, filename=attachment.name, mime_type=attachment.media_type,
        description=attachment.description, creation_date=_pdf_date(issued), mod_date=_pdf_date(issued),
        relationship=pikepdf.Name.Data)
    pdf.attachments[attachment.name] = specification
    pdf.Root.AF = pikepdf.Array([pdf.attachments[attachment.name].obj])


def _add_structure(pdf: pikepdf.Pdf, root: Element) -> None:
    """Write the elements collected while drawing (ISO 32000-1:2008, 14.7 and 14.8)."""
    import pikepdf

    Dictionary, Name, Array = pikepdf.Dictionary, pikepdf.Name, pikepdf.Array  # noqa: N806 - PDF's own names
    pages = [page.obj for page in pdf.pages]
    owners: dict[int, dict[int, pikepdf.Object]] = {}
    # The elements of the links, behind the pages in the tree that leads from contents to elements.
    links: list[pikepdf.Object] = []
    tree = pdf.make_indirect(Dictionary(Type=Name.StructTreeRoot))

    def write(element: Element, parent: pikepdf.Object) -> pikepdf.Object:
        made = pdf.make_indirect(Dictionary(Type=Name.StructElem, S=Name("/" + element.tag), P=parent))
        if element.alternative:
            made.Alt = pikepdf.String(element.alternative)
        if element.is_text_needed:
            made.ActualText = pikepdf.String(element.text)
        of_cell = {"Scope": Name("/" + element.scope)} if element.scope else {}
        if element.columns > 1:
            of_cell["ColSpan"] = element.columns
        if of_cell:
            made.A = Dictionary(O=Name.Table, **of_cell)
        if element.box:
            made.A = Dictionary(O=Name.Layout, BBox=Array([round(x, 3) for x in element.box]), Placement=Name.Block)
        children = Array()
        for child in element.children:
            if isinstance(child, Link):
                children.append(write_link(child, element, made))
            elif isinstance(child, Content):
                page, number = child
                owners.setdefault(page, {})[number] = made
                children.append(Dictionary(Type=Name.MCR, Pg=pages[page], MCID=number))
            else:
                children.append(write(child, made))
        made.K = children
        return made

    def write_link(link: Link, element: Element, parent: pikepdf.Object) -> pikepdf.Object:
        annotation = pages[link.page].Annots[link.place]
        annotation.StructParent = len(pages) + len(links)
        # Said of the link by those who read aloud; ISO 14289-1, 7.18.5.
        annotation.Contents = pikepdf.String(element.links.get(link.to) or element.text or "link")
        reference = Dictionary(Type=Name.OBJR, Obj=annotation, Pg=pages[link.page])
        made = pdf.make_indirect(Dictionary(Type=Name.StructElem, S=Name.Link, P=parent, K=Array([reference])))
        links.append(made)
        return made

    tree.K = Array([write(root, tree)])
    numbers = Array()
    for index, page in enumerate(pages):
        page.StructParents = index
        page.Tabs = Name.S
        marks = owners.get(index, {})
        numbers.append(index)
        numbers.append(pdf.make_indirect(Array([marks[number] for number in range(len(marks))])))
    for place, made in enumerate(links, start=len(pages)):
        numbers.append(place)
        numbers.append(made)
    tree.ParentTree = pdf.make_indirect(Dictionary(Nums=numbers))
    tree.ParentTreeNextKey = len(pages) + len(links)
    pdf.Root.StructTreeRoot = tree
    pdf.Root.MarkInfo = Dictionary(Marked=True)
