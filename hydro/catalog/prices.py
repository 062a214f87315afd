"""What things cost, from a CSV file of an owner's own: no price is known here.

    item,price EUR,per
    50 PN10,3.10,m
    elbow 90 50 PN10,2.40,piece
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from hydro.catalog.lookup import key
from hydro.quantities.csv_tables import MONEY, Column, CsvRow, Sheet, complain_of_repeats, read_sheet
from hydro.quantities.parsing import UnitProblem, quoted, read

MOST_PRICE = 1e7
PIECE = ("", "piece", "pieces", "each", "pc")
"""How a price for one piece is written."""
_PRICES = (Column("item", also=("name",), required=True), Column("price", MONEY, "EUR", required=True), Column("per"))


@dataclass(frozen=True, slots=True)
class Price:
    """What an item costs: an amount of a currency, for one piece (`per` None) or for a length in metres."""

    words: str
    amount: float
    currency: str
    per: float | None = None

    @property
    def per_metre(self) -> float | None:
        """The price of a metre; None for what is sold by the piece, whose length is not known here."""
        return None if self.per is None else self.amount / self.per


@dataclass(frozen=True, slots=True)
class PriceList:
    """Prices by the words of the items, all in one currency."""

    file: str
    currency: str
    prices: Mapping[str, Price]

    def find(self, words: str) -> Price | None:
        """Return the price of an item, however its size is written; None where it is not in the list."""
        own = {key(name): price for name, price in self.prices.items()}
        return own.get(key(words))


def load_prices(path: str | Path) -> PriceList:
    """Return the prices of a CSV file: item, price with its currency, and for how much ('piece', 'm', '5 m') where that is said.

    `InputError` with a complaint for every mistake.
    """
    sheet = read_sheet(Path(path), "a list of prices", _PRICES)
    complain_of_repeats(sheet, key, "item")
    prices = dict[str, Price]()
    for row in sheet.rows:
        words, before = sheet.words(row, "item"), len(sheet.complaints)
        price = price_of(sheet, row, words)
        if price is not None:
            prices[words] = price
        elif len(sheet.complaints) == before:
            sheet.complain(row.line, "price", "nothing is written", "a price, or no row for the item")
    sheet.finish()
    return PriceList(str(path), _currency(sheet)[0], prices)


def _currency(sheet: Sheet) -> tuple[str, str]:
    """Return the currency of a table, and for how much a price stands where its header says so."""
    currency, _, basis = re.sub(r" ?/ ?| per ", "/", sheet.units.get("price", "")).partition("/")
    return currency, basis


def price_of(sheet: Sheet, row: CsvRow, words: str) -> Price | None:
    """Return the price in a row; None where there is none, or where something is wrong with it, which is noted."""
    amount = sheet.number(row, "price", "number")
    if amount is None:
        return None
    if not 0.0 <= amount.low <= amount.high <= MOST_PRICE:
        found = f"{quoted(sheet.words(row, 'price'))} is below zero" if amount.low < 0.0 else f"a price of {amount.high:.3g}"
        sheet.complain(row.line, "price", found, f"a price from 0 to {MOST_PRICE:.0f}")
        return None
    currency, basis = _currency(sheet)
    before = len(sheet.complaints)
    per = _per(sheet, row, sheet.words(row, "per") or basis)
    return Price(words, amount.middle, currency, per) if len(sheet.complaints) == before else None


def _per(sheet: Sheet, row: CsvRow, written: str) -> float | None:
    """Return the length that a price stands for in metres, None for a piece."""
    if written.casefold() in PIECE:
        return None
    try:
        length = read(written if written[:1].isdigit() else f"1 {written}", "length")
    except UnitProblem as problem:
        column = "per" if sheet.words(row, "per") else "price"
        sheet.complain(row.line, column, problem.found, "'piece', or a length, such as m or 5 m")
        return None
    if not length.low > 0.0:
        sheet.complain(row.line, "per", f"{quoted(written)} is not above zero", "'piece', or a length, such as m or 5 m")
    return length.middle
