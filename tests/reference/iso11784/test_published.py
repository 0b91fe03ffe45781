"""Electronic numbers held to published examples and to the published table of bits.

Sources
-------
* ICAR, table "ISO 11784 coding of the transponder", edition of 15 August 1996: bit 1 animal flag,
  bits 2-15 reserved, bit 16 data block, bits 17-26 country or maker (10 bits, 1,024 codes), bits
  27-64 identification code (38 bits, 274,877,906,944 codes); Germany is 276.
* Commission Decision 2006/968/EC: national identification code of 12 digits; where it has fewer,
  zeros fill the space behind the country code.
* Rules extract for sheep keepers in Great Britain: tag ``UK 0 123456 00001``; electronic form 826
  and 012345600001.
* Implementing Regulation (EU) 2021/520, Article 12: letters or three digits of the country and a
  code of at most 12 digits; Greece writes EL; Northern Ireland writes XI, or 899 in digits.
* ICAR's list of identifier schemes, example of a 15-digit number: 276000312312345.
* ISO 3166-1 numeric codes of some sheep-keeping countries, as the standard lists them.
"""

import pytest

from stell.core.errors import ValueRefused
from stell.exchange.electronic_id import (
    LARGEST_NATIONAL,
    ElectronicId,
    countries,
    parse,
    unpack,
)


def test_there_are_as_many_codes_as_the_table_says() -> None:
    assert LARGEST_NATIONAL + 1 == 274_877_906_944


# Worked by hand from the table of bits with an arbitrary-precision calculator:
# echo 'obase=16; 2^63 + 826*2^38 + 123456789012' | bc  ->  8000CE9CBE991A14
# echo 'obase=16; 2^63 + 826*2^38 + 12345600001' | bc   ->  8000CE82DFDAE801
# echo 'obase=16; 2^63 + 276*2^38 + 312312345' | bc     ->  80004500129D8219
# echo 'obase=16; 999*2^38 + 2^38 - 1' | bc             ->  F9FFFFFFFFFF
@pytest.mark.parametrize(
    ("prefix", "national", "animal", "hexadecimal"),
    [
        (826, 123_456_789_012, True, "8000CE9CBE991A14"),
        (826, 12_345_600_001, True, "8000CE82DFDAE801"),
        (276, 312_312_345, True, "80004500129D8219"),
        (999, 274_877_906_943, False, "0000F9FFFFFFFFFF"),
    ],
)
def test_bits_stand_where_the_table_puts_them(
    prefix: int, national: int, animal: bool, hexadecimal: str
) -> None:
    packed = ElectronicId(prefix, national, animal=animal)
    assert packed.hex == hexadecimal
    assert unpack(int(hexadecimal, 16)) == packed


@pytest.mark.parametrize(
    ("written", "digits"),
    [
        ("UK 0 123456 00001", "826012345600001"),
        ("UK012345600001", "826012345600001"),
        ("826 012345600001", "826012345600001"),
        ("XI 012345600001", "899012345600001"),
        ("EL 012345600001", "300012345600001"),
        ("DE 000312312345", "276000312312345"),
    ],
)
def test_tags_with_letters_have_the_published_digits(written: str, digits: str) -> None:
    assert parse(written).text == digits


def test_both_prefixes_of_the_united_kingdom_stand_side_by_side() -> None:
    assert parse("826012345600001").country == "United Kingdom"
    assert parse("899012345600001").country == "United Kingdom (Northern Ireland)"


def test_a_short_national_code_is_filled_with_zeros() -> None:
    assert ElectronicId(276, 312_312_345).text == "276000312312345"


def test_the_flock_mark_alone_is_no_animal() -> None:
    # Slaughter lambs carry one tag with the flock mark only, UK 123456 (same extract).
    with pytest.raises(ValueRefused, match="behind the letters stand 6 digits"):
        parse("UK 123456")


@pytest.mark.parametrize(
    ("code", "name"),
    [
        (36, "Australia"),
        (40, "Austria"),
        (56, "Belgium"),
        (76, "Brazil"),
        (124, "Canada"),
        (156, "China"),
        (208, "Denmark"),
        (231, "Ethiopia"),
        (250, "France"),
        (276, "Germany"),
        (300, "Greece"),
        (352, "Iceland"),
        (356, "India"),
        (364, "Iran"),
        (372, "Ireland"),
        (380, "Italy"),
        (504, "Morocco"),
        (528, "Netherlands"),
        (554, "New Zealand"),
        (566, "Nigeria"),
        (578, "Norway"),
        (642, "Romania"),
        (710, "South Africa"),
        (724, "Spain"),
        (752, "Sweden"),
        (756, "Switzerland"),
        (818, "Egypt"),
        (826, "United Kingdom"),
        (840, "United States"),
        (858, "Uruguay"),
    ],
)
def test_country_codes_are_those_of_the_standard(code: int, name: str) -> None:
    assert countries()[code] == name


def test_the_table_holds_every_country_of_the_standard_and_one_more() -> None:
    # ISO 3166-1 lists 249 countries; 899 is the one addition.
    assert len(countries()) == 250
    assert not [code for code in countries() if code >= 900], "those are makers'"
