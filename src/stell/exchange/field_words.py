"""Trade words for the fields every sheet may have, and for their values.

Common practice, no source. In each list the surest word stands first: where two columns of one
sheet could mean the same field, the surer title wins and the other is reported as not used.
"""

from __future__ import annotations

FIELD_TITLES: dict[str, tuple[str, ...]] = {
    "flock": (
        "flock", "flock name", "farm", "farm name", "holding", "flock id", "troupeau", "herde",
        "betrieb", "rebaño",
    ),
    "tag": (
        "tag", "ear tag", "eartag", "tag number", "tag no", "ear tag number", "visible tag",
        "visual tag", "visual id", "visual number", "management tag", "ram tag",
        "ear number", "uk tag", "official tag", "individual number", "animal number",
        "animal id", "ram number", "ram no", "ram id", "ram", "tup", "animal",
        "ohrmarke", "oormerk", "boucle", "crotal", "id", "number", "no", "nr",
    ),
    "eid": (
        "eid", "eid number", "eid tag", "electronic id", "electronic number",
        "electronic identification", "electronic tag", "e id", "rfid", "transponder",
        "transponder number", "microchip", "chip number", "chip", "iso number", "15 digit number",
    ),
    "name": ("name", "ram name", "animal name", "nom", "nombre", "naam"),
    "breed": ("breed", "breed name", "rasse", "race", "raza", "ras"),
    "ram_type": ("ram type", "type of ram", "sire type", "breed type", "type"),
    "born_on": (
        "born on", "date of birth", "birth date", "birthdate", "dob", "d o b", "born", "birthday",
        "birth", "year of birth", "birth year", "yob", "month of birth", "lambed on", "lambed",
        "geburtsdatum", "geboren", "date de naissance", "fecha de nacimiento", "geboortedatum",
    ),
    "age_months": (
        "age months", "age in months", "months old", "age at examination", "age", "age years",
        "alter", "edad", "leeftijd",
    ),
    "age_class": ("age class", "age group", "age category", "shear", "dentition age"),
    "intended_use": (
        "intended use", "intended for", "to sire", "use", "purpose", "breeding purpose",
        "mating purpose",
    ),
    "circumstances": ("circumstances", "circumstance", "special circumstances", "why tested"),
    "examined_on": (
        "examined on", "date of examination", "examination date", "exam date", "date examined",
        "day of examination", "examined", "inspection date", "visit date", "date of visit",
        "test date", "date tested", "date seen", "seen on", "date", "visit", "day", "datum",
        "fecha", "untersucht am",
    ),
    "examiner": (
        "examiner", "examined by", "vet", "veterinarian", "veterinary surgeon", "examining vet",
        "inspector", "assessor", "initials", "by", "tierarzt", "veterinaire", "dierenarts",
    ),
    "note": (
        "note", "notes", "remarks", "remark", "comments", "comment", "general comments",
        "other remarks", "bemerkung", "bemerkungen", "remarques", "notas", "opmerkingen",
    ),
    "rest_normal": (
        "rest normal", "all else normal", "everything else normal", "rest ok", "all else ok",
        "remainder normal", "otherwise normal", "other normal", "rest nad",
    ),
    "override": ("override", "vet verdict", "vets verdict", "vet s verdict", "verdict of the vet"),
    "override_reason": (
        "override reason", "reason for override", "reason of the vet", "vet reason",
        "why the verdict differs",
    ),
    "exam_id": ("exam id", "examination id", "examination uuid", "exam uuid", "uuid"),
}  # fmt: skip

YES = frozenset({"yes", "y", "true", "1", "x", "✓", "✔", "√", "ja", "j", "oui", "si"})
NO = frozenset({"no", "n", "false", "0", "nein", "nee", "non"})

USE_WORDS: dict[str, tuple[str, ...]] = {
    "replacements": (
        "replacement", "ewe lambs", "breeding replacements", "keeping ewe lambs", "maternal",
        "pure", "pure breeding",
    ),
    "terminal": (
        "terminal sire", "slaughter", "slaughter lambs", "meat", "finishing", "fat lambs",
        "prime lambs", "store lambs",
    ),
    "both": ("replacements and terminal", "any", "all"),
}  # fmt: skip
TYPE_WORDS: dict[str, tuple[str, ...]] = {
    "hill": ("mountain", "upland"),
    "lowland": ("low ground",),
    "terminal": ("terminal sire", "meat", "meat sire"),
    "longwool": ("long wool", "crossing sire", "crossing"),
    "dairy": ("milk",),
    "hair": ("hair sheep", "shedding", "wool shedding"),
}
CIRCUMSTANCE_WORDS: dict[str, tuple[str, ...]] = {
    "bought_in": ("bought", "purchased", "new", "new purchase", "just bought", "incoming"),
    "single_sire": ("single sire group", "alone with ewes", "single sire mating"),
    "synchronised": ("synchronized", "sponged", "synchronised ewes", "sponges"),
    "poor_result_before": (
        "poor result", "poor scanning", "poor scanning before", "many barren", "poor lambing",
    ),
    "for_sale": ("sale", "to be sold", "selling"),
}  # fmt: skip
VERDICT_WORDS: dict[str, tuple[str, ...]] = {
    "satisfactory": ("sound", "fit", "pass", "passed", "suitable"),
    "deferred": ("defer", "recheck", "retest", "re examine", "temporarily unsuitable"),
    "incomplete": ("not complete",),
    "unsatisfactory": ("fail", "failed", "unfit", "unsound", "reject", "rejected", "unsuitable"),
}
