"""Electronic numbers of animals: ISO 11784 codes, as digits, as letters and digits, as 64 bits.

The 64 bits, first bit first: animal flag (1), retagging counter (3), user information (5),
reserved (6), data block flag (1), country or maker (10), national code (38). The places of animal
flag, data block flag, country and national code: ICAR's published table of the 1996 edition; the
retagging counter's and the user information's: from memory, they were reserved in that edition.
People see 15 digits: country (3) and national code (12), filled with zeros in front.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import resources

from stell.core.errors import ValueRefused

LARGEST_NATIONAL = 2**38 - 1  # 274 877 906 943: twelve digits reach further than 38 bits
_TEST_PREFIX = 999
_MAKER_PREFIXES = range(900, 999)
_MARKS = re.compile(r"[\s\x02\x03\x00.-]+")
_LETTERS = re.compile(r"([A-Z]{2})([0-9]*)")
_LEGAL = "15 digits: 3 for the country, 12 for the animal"
_EXAMPLE = "826 012345600001"


@lru_cache(maxsize=1)
def countries() -> dict[int, str]:
    """Return the countries by their three-digit prefix."""
    return {int(prefix): entry[0] for prefix, entry in _table().items()}


@lru_cache(maxsize=1)
def _prefix_by_letters() -> dict[str, int]:
    return {letters: int(p) for p, entry in _table().items() for letters in entry[1:]}


@lru_cache(maxsize=1)
def _table() -> dict[str, list[str]]:
    text = (resources.files("stell.exchange") / "data" / "id_countries.toml").read_text("utf-8")
    return tomllib.loads(text)


def is_usual(digits: str) -> bool:
    """Tell quickly whether 15 digits have a country's prefix and a national code that fits.

    Examples
    --------
    >>> is_usual("826012345600001"), is_usual("900012345600001")
    (True, False)
    """
    return int(digits[:3]) in countries() and digits[3:] <= str(LARGEST_NATIONAL)


@dataclass(frozen=True, slots=True)
class ElectronicId:
    """One electronic number.

    Attributes
    ----------
    prefix : int
        Country by ISO 3166-1 numeric, or a maker's code from 900 on. [0 to 999; 1023 in bits]
    national : int
        National code. [0 to 999,999,999,999]
    animal : bool
        Whether the transponder is for an animal.
    retag : int
        How often he was tagged anew. [0 to 7]
    user : int
        User information. [0 to 31]
    data_block : bool
        Whether more data follow the code.
    assumed : tuple of str
        What was assumed on reading it, for a person.
    """

    prefix: int
    national: int
    animal: bool = True
    retag: int = 0
    user: int = 0
    data_block: bool = False
    assumed: tuple[str, ...] = field(default=(), compare=False)

    @property
    def text(self) -> str:
        """The 15 digits, as they are stored."""
        return f"{self.prefix:03d}{self.national:012d}"

    @property
    def display(self) -> str:
        """The 15 digits as people read them.

        Examples
        --------
        >>> parse("826012345600001").display
        '826 012345600001'
        """
        return f"{self.prefix:03d} {self.national:012d}"

    @property
    def country(self) -> str:
        """The country's name; empty for a maker's code or an unknown prefix."""
        return countries().get(self.prefix, "")

    @property
    def is_official(self) -> bool:
        """Whether the prefix is a country's."""
        return bool(self.country)

    @property
    def notices(self) -> tuple[str, ...]:
        """What is unusual about the number, for a person."""
        said = list(self.assumed)
        if self.prefix == _TEST_PREFIX:
            said.append("999 marks a transponder for tests")
        elif self.prefix in _MAKER_PREFIXES:
            said.append(f"{self.prefix} is a maker's code, so this is no official number")
        elif not self.is_official:
            said.append(f"{self.prefix:03d} is no country's code known to stell")
        if self.national > LARGEST_NATIONAL:
            said.append(
                "the last twelve digits are more than a transponder can hold "
                f"({LARGEST_NATIONAL}), so one of them is wrong"
            )
        return tuple(said)

    def pack(self) -> int:
        """Return the 64 bits as a number, the first bit the highest.

        Raises
        ------
        ValueRefused
            `identity.eid` when a part does not fit into its bits.

        Examples
        --------
        >>> hex(ElectronicId(826, 123456789012).pack())
        '0x8000ce9cbe991a14'
        """
        for name, value, most in (
            ("the country or maker", self.prefix, 1023),
            ("the national code", self.national, LARGEST_NATIONAL),
            ("the retagging counter", self.retag, 7),
            ("the user information", self.user, 31),
        ):
            if not 0 <= value <= most:
                raise _refused(f"{name} does not fit into its bits", value, f"0 to {most}")
        head = self.animal << 63 | self.retag << 60 | self.user << 55 | self.data_block << 48
        return head | self.prefix << 38 | self.national

    @property
    def hex(self) -> str:
        """The 64 bits as 16 hexadecimal digits."""
        return f"{self.pack():016X}"


def unpack(bits: int) -> ElectronicId:
    """Return the electronic number in 64 bits, the first bit the highest.

    Raises
    ------
    ValueRefused
        `identity.eid` when reserved bits are set or the number is none of 64 bits.

    Examples
    --------
    >>> unpack(0x8000CE9CBE991A14).display
    '826 123456789012'
    """
    if not 0 <= bits < 2**64:
        raise _refused("this is not a number of 64 bits", hex(bits), "0 to 2^64 - 1")
    if bits >> 49 & 0b111111:
        raise _refused(
            "reserved bits are set, so this is no ISO 11784 code or its bytes are turned round",
            f"{bits:016X}",
            "six zero bits behind the user information",
        )
    return ElectronicId(
        prefix=bits >> 38 & 1023,
        national=bits & LARGEST_NATIONAL,
        animal=bool(bits >> 63),
        retag=bits >> 60 & 7,
        user=bits >> 55 & 31,
        data_block=bool(bits >> 48 & 1),
    )


def parse(text: str) -> ElectronicId:
    """Return the electronic number in what a reader sent or a person typed.

    Taken are 15 digits with or without blanks, also between STX and ETX or before a line end;
    16 digits of which the first is the animal flag (0 or 1); 16 hexadecimal digits; and a
    country's letters before 12 digits (``UK 0 123456 00001``).

    Raises
    ------
    ValueRefused
        `identity.eid`, saying what is amiss.

    Examples
    --------
    >>> parse("\\x02826 012345600001\\r\\n").text
    '826012345600001'
    >>> parse("UK 0 123456 00001").text
    '826012345600001'
    """
    bare = _MARKS.sub("", text).upper()
    if not bare.isascii():
        raise _refused("this is no electronic number", text, _LEGAL)
    if bare.isdigit():
        return _of_digits(bare, text)
    if len(bare) == 16 and re.fullmatch(r"[0-9A-F]{16}", bare):
        return unpack(int(bare, 16))
    found = _LETTERS.fullmatch(bare)
    if found and found[1] in _prefix_by_letters():
        if len(found[2]) != 12:
            raise _refused(
                f"behind the letters stand {len(found[2])} digits", text,
                "12 digits behind the letters, zeros in front where the number is shorter",
                "UK 0 123456 00001",
            )  # fmt: skip
        return ElectronicId(_prefix_by_letters()[found[1]], int(found[2]))
    raise _refused("this is no electronic number", text, _LEGAL)


def _of_digits(digits: str, text: str) -> ElectronicId:
    if len(digits) == 16 and digits[0] in "01":
        flagged = "the first of 16 digits was taken as the animal flag"
        return ElectronicId(
            int(digits[1:4]), int(digits[4:]), animal=digits[0] == "1", assumed=(flagged,)
        )
    if len(digits) == 16 and digits[0] in "89":
        return unpack(int(digits, 16))
    if len(digits) == 15:
        if digits.startswith("000"):
            raise _refused("no country has the code 000", text, _LEGAL)
        return ElectronicId(int(digits[:3]), int(digits[3:]))
    if len(digits) in (13, 14) and int(digits.zfill(15)[:3]) in countries():
        filled = digits.zfill(15)
        raise _refused(
            f"{len(digits)} digits: a spreadsheet drops zeros in front "
            f"({filled[:3]} is {countries()[int(filled[:3])]})",
            text, _LEGAL, f"{filled[:3]} {filled[3:]}, if that is his number",
        )  # fmt: skip
    raise _refused(f"{len(digits)} digits instead of 15", text, _LEGAL)


def _refused(problem: str, got: object, legal: str, example: str = _EXAMPLE) -> ValueRefused:
    return ValueRefused("identity.eid", problem, got=got, legal=legal, example=example)
