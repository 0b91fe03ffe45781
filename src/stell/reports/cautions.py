"""The standing cautions of a report. What is found on a ram is added by his reasons' flags.

Handling injuries, infections that pass to people, medicines and local law: common practice of the
trade; each defers to the examining vet and to the rules of the place.
"""

from __future__ import annotations

from stell.reports.values import Caution

OWNER = (
    Caution(
        "What a verdict is worth",
        "It speaks of what was seen and felt on the day of the examination and of no other day. "
        "“Satisfactory” means that no physical abnormality was found that speaks against his use; "
        "it is no promise that he is fertile, willing or able to serve. Watch the rams at work, "
        "and the ewes that come back.",
    ),
    Caution(
        "Handling",
        "Rams butt, above all near mating. Never turn your back on one, keep a way out, use a "
        "race or pen, and do not work with them alone without telling somebody where you are.",
    ),
    Caution(
        "What passes to people",
        "Orf and ringworm pass from a sheep's skin to yours, and other infections by birth fluids, "
        "milk or dung. Wear gloves, cover cuts, wash before eating. Anyone who is pregnant or has "
        "a weak immune system asks a doctor before handling sheep.",
    ),
    Caution(
        "Medicines",
        "This report prescribes nothing. Give only what the vet has prescribed, in the dose and "
        "for the time the vet says; write it down, and keep the withdrawal periods the vet gives "
        "for meat and milk.",
    ),
    Caution(
        "Diseases that must be reported",
        "Blisters or sores on mouth and feet, sudden lameness in many sheep, swollen head, "
        "scab, or abortion in the flock may fall under local law: stop moving animals and call "
        "the vet or the authority at once.",
    ),
    Caution(
        "Law",
        "Rules on identification, movement, medicines, collection of semen and welfare differ "
        "from place to place. They and the examining vet come before anything printed here.",
    ),
)
