"""Every shipped protocol file: it loads, says where everything comes from, and speaks plainly."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from stell.core.protocol import schema
from stell.core.protocol.load import load_shipped, shared_sources, shipped, shipped_text
from stell.core.protocol.ready import ReadyProtocol

NAMES = shipped()
CITED = re.compile(r"\[([a-z][a-z0-9_, ]*[a-z0-9])\]")
BASES = {"published", "published-secondary", "common-practice", "memory"}

# Words of the clinic that a flock owner need not know, and signs of a prescription.
JARGON = re.compile(
    r"\w+itis\b|palpat|lesion|morpholog|motil|cryptorchid|entropion|hypoplas|atroph|fibros"
    r"|varicocele|epididym|scrot(?!um\b)|testis\b|testes|prepuc|penile|urolith|calculi|lymph|necro"
    r"|granulom|adhesion|bilateral|unilateral|prognos|subfertil|ejacul|vesic|anaem|jaundic|oedema"
    r"|heritab|congenital|chronic|acute|incisor|molar|brachy|progna|caseous|brucell|chorioptes"
    r"|conformation|cauda",
    re.IGNORECASE,
)
PRESCRIPTION = re.compile(
    r"\d\s*(mg|ml|cc|iu)\b|\d\s*g\b(?! of testis)|oxytetracycline|penicillin|tilmicosin"
    r"|tulathromycin|meloxicam|flunixin|ivermectin|doramectin|closantel|amoxicillin|gamithromycin"
    r"|zinc sul|formalin|copper sul",
    re.IGNORECASE,
)


def provenances(spec: schema.Protocol) -> Iterator[tuple[str, schema.Provenance]]:
    """Yield everything in a file that may state where it comes from."""
    if spec.season:
        yield "season", spec.season
    for age in spec.age_class:
        yield f"age_class.{age.id}", age
    for key, figure in spec.targets.items():
        yield f"targets.{key}", figure
    if spec.timing:
        for key in type(spec.timing).model_fields:
            yield f"timing.{key}", getattr(spec.timing, key)
    for check in spec.check:
        yield check.id, check
        for error in (check.error_same_person, check.error_other_person):
            if error:
                yield f"{check.id}.error", error
        for option in check.option:
            yield f"{check.id}.{option.id}", option
        for standard in check.standard:
            yield f"{check.id}.{standard.id}", standard


def keys_cited(spec: schema.Protocol) -> Iterator[tuple[str, str]]:
    """Yield every source named in a file, by key or in square brackets in a remark."""
    for where, stated in provenances(spec):
        if stated.source:
            yield where, stated.source
        for inside in CITED.findall(stated.remark or ""):
            yield from ((where, key.strip()) for key in inside.split(","))


def owner_texts(spec: schema.Protocol) -> Iterator[tuple[str, str]]:
    for limit in spec.restriction:
        yield f"restriction.{limit.id}", limit.owner
    for where, _, owner, _ in spoken(spec):
        yield where, owner


def spoken(spec: schema.Protocol) -> Iterator[tuple[str, str, str, tuple[str, ...]]]:
    """Yield where, do, owner and flags of everything that has an effect."""
    for check in spec.check:
        for option in check.option:
            if option.effects:
                yield f"{check.id}.{option.id}", option.do, option.owner, option.flags
        for standard in check.standard:
            for band in standard.bands:
                if band.effects:
                    where = f"{check.id}.{standard.id}.{band.classed}"
                    yield where, band.do, band.owner, band.flags


@pytest.fixture(scope="module", params=NAMES)
def protocol(request: pytest.FixtureRequest) -> ReadyProtocol:
    return load_shipped(request.param)


def test_a_house_protocol_and_two_whole_published_standards_are_shipped() -> None:
    assert "house" in NAMES
    assert len(NAMES) >= 3, NAMES


def test_the_file_is_named_like_the_protocol(protocol: ReadyProtocol) -> None:
    assert protocol.id in NAMES
    assert load_shipped(protocol.id).named == protocol.named


def test_every_statement_has_a_basis_and_a_day(protocol: ReadyProtocol) -> None:
    origins = {rule.rule_id: rule.origin for _, rule in protocol.rules() if rule.origin}
    origins |= protocol.origins
    assert origins
    for where, origin in origins.items():
        assert origin.basis in BASES, f"{where}: a shipped file speaks for no practice"
        assert date(2026, 1, 1) <= origin.checked_on <= date(2027, 12, 31), where


def test_every_rule_with_an_effect_has_an_origin(protocol: ReadyProtocol) -> None:
    without = [r.rule_id for _, r in protocol.rules() if r.effects and r.origin is None]
    assert not without


def test_rule_ids_are_unique(protocol: ReadyProtocol) -> None:
    counted = Counter(rule.rule_id for _, rule in protocol.rules())
    assert max(counted.values()) == 1, counted.most_common(3)


def test_published_needs_that_something_was_read(protocol: ReadyProtocol) -> None:
    for where, stated in provenances(protocol.spec):
        if stated.basis == "published":
            assert stated.source, f"{where}: published without a source"
        if stated.source and stated.basis == "published":
            read = protocol.sources[stated.source].read
            assert read in ("whole", "part", "abstract"), f"{where}: {stated.source} is {read}"


def test_every_source_named_exists(protocol: ReadyProtocol) -> None:
    for where, key in keys_cited(protocol.spec):
        assert key in protocol.sources, f"{where} cites [{key}], which is not in the bibliography"


def test_every_source_of_the_bibliography_is_used() -> None:
    used = {key for name in NAMES for _, key in keys_cited(load_shipped(name).spec)}
    assert not set(shared_sources()) - used, "sources that nothing leans on"


def test_the_bibliography_says_how_far_each_source_was_read() -> None:
    for key, source in shared_sources().items():
        assert source.title, key
        if source.read in ("not-seen", "secondary"):
            assert source.remark, f"{key} was not read itself: say what is from memory or where met"
        assert source.doi or source.address or source.published_in, f"{key} cannot be found again"


# ------------------------------------------------------------------ what people read


def test_owner_texts_need_no_dictionary(protocol: ReadyProtocol) -> None:
    for where, text in owner_texts(protocol.spec):
        found = JARGON.search(text)
        assert not found, f"{where}: {text!r} speaks the clinic's language: {found}"


def test_the_purse_is_named_in_both_words(protocol: ReadyProtocol) -> None:
    # "Purse" is a word of some places only, "scrotum" not one of every day: both, once in a text.
    for where, text in owner_texts(protocol.spec):
        words = len(re.findall(r"\b(?:scrotum|purse)\b", text))
        assert words == 2 * text.count("scrotum (purse)") <= 2, f"{where}: {text!r}"


def test_owner_texts_are_short_sentences(protocol: ReadyProtocol) -> None:
    for where, text in owner_texts(protocol.spec):
        assert text.endswith("."), f"{where}: {text!r}"
        longest = max(len(s.split()) for s in re.split(r"[.;:]\s", text))
        assert longest <= 30, f"{where}: a sentence of {longest} words: {text!r}"


def test_the_house_says_every_finding_in_a_few_plain_words() -> None:
    for _, rule in load_shipped("house").rules():
        if not rule.effects:
            assert not rule.brief, f"{rule.rule_id}: nothing to say of what is normal"
            continue
        assert rule.brief, f"{rule.rule_id} has no words for a list"
        assert not JARGON.search(rule.brief), f"{rule.rule_id}: {rule.brief!r}"
        assert re.fullmatch(r"[a-z][^.;:()]*", rule.brief), f"{rule.rule_id}: {rule.brief!r}"


@pytest.mark.parametrize("text", ["He has posthitis.", "A lesion of the scrotum.", "BRUCELLA"])
def test_jargon_is_noticed(text: str) -> None:
    assert JARGON.search(text), text


def test_no_text_prescribes(protocol: ReadyProtocol) -> None:
    for where, do, owner, _ in spoken(protocol.spec):
        found = PRESCRIPTION.search(f"{do} {owner}")
        assert not found, f"{where}: {found}"


def test_flags_and_texts_agree(protocol: ReadyProtocol) -> None:
    for where, do, owner, flags in spoken(protocol.spec):
        if "notifiable" in flags:
            told = do.lower()
            assert "report" in told or "notifiable" in told, f"{where}: do says nothing of it"
            assert re.search(r"law|report|do not sell or move", owner), f"{where}: owner"
        if "zoonosis" in flags:
            assert re.search(r"glove|people|wash", owner), f"{where}: how does the owner stay well?"


def test_an_emergency_is_treated_or_bars_him(protocol: ReadyProtocol) -> None:
    for _, rule in protocol.rules():
        if "act_today" not in rule.flags:
            continue
        kinds = {e.kind for e in rule.effects if e.when is None}
        helped = kinds & {schema.Severity.treat, schema.Severity.reject}
        assert helped or "notifiable" in rule.flags, f"{rule.rule_id}: who acts today, and how?"


def test_a_rejected_ram_is_somebodys_meat_and_feels_the_road(protocol: ReadyProtocol) -> None:
    for _, rule in protocol.rules():
        if rule.worst == schema.Severity.reject:
            assert "withdrawal periods" in rule.do, f"{rule.rule_id}: {rule.do}"
            assert "fit to travel" in rule.do, f"{rule.rule_id}: {rule.do}"


# A reading that rest may change, and a sample that may be to blame, are taken again sooner.
SOONER = {"temperature.all_rams.raised": (1, 60), "motility.all_rams.none_moving": (7, 60)}


def test_deferrals_follow_the_house_rules() -> None:
    for _, rule in load_shipped("house").rules():
        for effect in rule.effects:
            if effect.kind is schema.Severity.defer:
                usual = (14, 28, 30, 60)
                allowed = SOONER.get(rule.rule_id, usual)
                assert effect.days in allowed, f"{rule.rule_id}: {effect.days} days"


def test_no_line_runs_on_for_ever(protocol: ReadyProtocol) -> None:
    longest = max(shipped_text(protocol.id).splitlines(), key=len)
    assert len(longest) <= 700, longest[:80]


# ------------------------------------------------------------------ the walk


def test_the_walk_goes_round_the_ram_in_order() -> None:
    house = load_shipped("house").spec
    stops = [s.id for s in house.stop]
    assert stops == [
        "stand_back", "head", "back", "legs", "scrotum", "turned_over", "temperature", "semen"
    ]  # fmt: skip
    order = [stops.index(c.stop) for c in house.check]
    assert order == sorted(order), "checks stand in the order of their stops"
    assert all(s.caution for s in house.stop), "every stop says how nobody gets hurt"


def test_temperature_and_semen_are_not_asked_of_every_ram() -> None:
    house = load_shipped("house")
    stops = {house.checks[c].spec.stop for c in house.always_required}
    assert stops == {"stand_back", "head", "back", "legs", "scrotum", "turned_over"}


@pytest.mark.parametrize("name", NAMES)
def test_semen_is_collected_under_the_law_and_with_care(name: str) -> None:
    caution = next(s.caution for s in load_shipped(name).spec.stop if s.id == "semen")
    for word in ("vet", "local law", "sedation", "stop"):
        assert word in caution, f"{name}: the caution does not speak of {word!r}"


def test_no_finger_goes_into_the_mouth() -> None:
    house = load_shipped("house")
    assert "never a finger" in house.checks["molars"].spec.caution.lower()
    assert (
        "never put a finger" in next(s for s in house.spec.stop if s.id == "head").caution.lower()
    )


def test_not_seen_is_not_an_answer() -> None:
    # What was not examined stays open; an answer for it would let it pass as examined.
    for _, rule in load_shipped("house").rules():
        assert not re.search(r"not (seen|examined|done)", f"{rule.rule_id} {rule.label}"), rule


# ------------------------------------------------------------------ the words in sheets


def plain(word: str) -> str:
    return " ".join(word.casefold().replace("_", " ").split())


def test_words_for_an_answer_mean_one_answer(protocol: ReadyProtocol) -> None:
    for check in protocol.spec.check:
        owners: dict[str, str] = {}
        for option in check.option:
            for word in {plain(w) for w in (option.id, option.label, *option.also_called)}:
                other = owners.setdefault(word, option.id)
                assert other == option.id, f"{check.id}: {word!r} is {other} and {option.id}"


def test_words_for_a_column_mean_one_check(protocol: ReadyProtocol) -> None:
    owners: dict[str, str] = {plain(s.title): f"stop {s.id}" for s in protocol.spec.stop}
    for check in protocol.spec.check:
        for word in {plain(w) for w in (check.id, check.title, *check.also_called)}:
            other = owners.setdefault(word, check.id)
            same = other == check.id or other == f"stop {check.stop}"
            assert same, f"{word!r} is a column for {other} and for {check.id}"


def test_words_for_an_age_mean_one_age_class() -> None:
    owners: dict[str, str] = {}
    for age in load_shipped("house").spec.age_class:
        for word in {plain(w) for w in (age.id, age.title, *age.also_called)}:
            other = owners.setdefault(word, age.id)
            assert other == age.id, f"{word!r} is {other} and {age.id}"


def test_age_classes_leave_no_gap() -> None:
    ages = load_shipped("house").spec.age_class
    assert ages[0].from_months == 0
    assert [a.until_months for a in ages] == [*(a.from_months for a in ages[1:]), None]


@pytest.mark.parametrize("word", ["ok", "n", "norm"])
def test_every_choice_understands_the_vets_word_for_normal(word: str) -> None:
    for check in load_shipped("house").checks.values():
        if not check.is_measure:
            normal = next(o for o in check.spec.option if o.normal)
            assert word in normal.also_called, f"{check.id} does not understand {word!r}"


def test_a_shipped_text_never_changes_under_its_version() -> None:
    """Records name the version that judged them: another text needs another version.

    After a change: raise `version` in the file and add its line to versions.txt; never edit a line.
    """
    lines = (Path(__file__).parent / "versions.txt").read_text("utf-8").splitlines()
    known = dict(line.rsplit(" ", 1) for line in lines if line and not line.startswith("#"))
    for name in shipped():
        text = shipped_text(name)
        protocol = load_shipped(name)
        digest = hashlib.sha256(text.encode()).hexdigest()
        assert known.get(protocol.named) == digest, f"{protocol.named} is not the text on record"
