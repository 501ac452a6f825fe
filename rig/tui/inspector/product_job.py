"""What the screens of products ask for: entered, imported, approved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import ClassVar

from rig.catalogue.product_file import load_products
from rig.inquiry.products import approve_product, enter_products
from rig.model.product import ProductSpecification
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_access import RigAccess
from rig.tui.rig.rig_events import News


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductNews(News):
    """A product that was entered or approved.

    Attributes:
        product: Name of the product; of several, the last one.
    """

    product: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EnterProduct(Job):
    """Put a specification on record as the next version of its product.

    Attributes:
        specification: What is specified.
        author: Name of whoever enters it.
    """

    DOING: ClassVar[str] = "putting the product on record"
    specification: ProductSpecification
    author: str

    def carry_out(self, access: RigAccess) -> None:
        """Enter it."""
        enter_products(
            access.records(),
            [self.specification],
            author=self.author,
            now=datetime.now(UTC),
        )
        access.post(ProductNews(product=self.specification.name))


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportProducts(Job):
    """Put the specifications of a file on record, all or none.

    Attributes:
        path: File that they stand in.
        author: Name of whoever enters them.
    """

    DOING: ClassVar[str] = "putting the products on record"
    path: Path
    author: str

    def carry_out(self, access: RigAccess) -> None:
        """Read and enter them."""
        found = load_products(self.path)
        enter_products(
            access.records(), found, author=self.author, now=datetime.now(UTC)
        )
        access.post(ProductNews(product=found[-1].name))


@dataclass(frozen=True, slots=True, kw_only=True)
class ApproveProduct(Job):
    """Put on record that somebody approves a version; it is then in force.

    Attributes:
        product: Name of the product.
        version: Version that is approved.
        approver: Name of whoever approves it.
    """

    DOING: ClassVar[str] = "putting the approval on record"
    product: str
    version: int
    approver: str

    def carry_out(self, access: RigAccess) -> None:
        """Approve it."""
        approve_product(
            access.records(),
            self.product,
            self.version,
            approver=self.approver,
            now=datetime.now(UTC),
        )
        access.post(ProductNews(product=self.product))
