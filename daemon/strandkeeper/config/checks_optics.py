"""Whether the modules and the fibre of one link can belong together."""

from __future__ import annotations

from collections.abc import Iterator

from strandkeeper.config.problem import Problem, place, value_text
from strandkeeper.config.schema import EndTable, LinkTable
from strandkeeper.errors import InputError
from strandkeeper.optics.fibre import attenuation, fibre_name, medium
from strandkeeper.optics.pmd import PmdSpec, by_name

__all__ = ["optics_problems", "sent_wavelength", "spec_of"]

_LETTERS = ("a", "b")


def spec_of(end: EndTable) -> PmdSpec | None:
    """The class of module named at an end; None if none is, or if the name is not known."""
    if end.pmd is None:
        return None
    try:
        return by_name(end.pmd)
    except InputError:
        return None


def sent_wavelength(end: EndTable, far: EndTable) -> int | None:
    """What an end sends [nm]: the owner's figure, its class's, or what its partner implies."""
    if end.wavelength_nm is not None:
        return end.wavelength_nm
    own, other = spec_of(end), spec_of(far)
    if own is not None:
        return own.wavelength_nm
    if other is not None and other.single_strand:
        return by_name(other.partner).wavelength_nm
    return None


def optics_problems(where: str, link: LinkTable) -> Iterator[Problem]:
    """Every contradiction among module types, strands, wavelengths and fibre of one link."""
    ends = (link.a, link.b)
    for letter, end in zip(_LETTERS, ends, strict=True):
        yield from _known(place(where, letter, "pmd"), end)
    yield from _fibre(where, link)
    yield from _rates(where, link)
    if link.strands == 1:
        yield from _single_strand(where, link)
    else:
        yield from _two_strands(where, link)


def _known(where: str, end: EndTable) -> Iterator[Problem]:
    if end.pmd is None:
        return
    try:
        by_name(end.pmd)
    except InputError as error:
        yield Problem(where, f"{error.message}; {error.hint}")


def _fibre(where: str, link: LinkTable) -> Iterator[Problem]:
    here = place(where, "fibre")
    try:
        fibre = fibre_name(link.fibre)
    except InputError as error:
        yield Problem(here, f"{error.message}; {error.hint}")
        return
    for letter, end, far in zip(_LETTERS, (link.a, link.b), (link.b, link.a), strict=True):
        spec = spec_of(end)
        if spec is not None and spec.medium != medium(fibre):
            yield Problem(
                here,
                f"{fibre} is {medium(fibre)}, but {spec.name} at end {letter} is for "
                f"{spec.medium} fibre",
                'fibre = "OM3"' if spec.medium == "multimode" else 'fibre = "G.652.D"',
            )
            return
        sent = sent_wavelength(end, far)
        if sent is not None:
            yield from _carries(place(where, letter, "wavelength_nm"), fibre, sent)


def _carries(where: str, fibre: str, sent: int) -> Iterator[Problem]:
    try:
        attenuation(fibre, sent)
    except InputError as error:
        yield Problem(where, f"{error.message}; {error.hint}")


def _rates(where: str, link: LinkTable) -> Iterator[Problem]:
    a, b = spec_of(link.a), spec_of(link.b)
    if a is not None and b is not None and a.line_rate_bd != b.line_rate_bd:
        yield Problem(
            place(where, "b", "pmd"),
            f"{b.name} and {a.name} at end a run at different speeds and can never link",
            f"pmd = {value_text(a.partner)}",
        )


def _two_strands(where: str, link: LinkTable) -> Iterator[Problem]:
    for letter, end in zip(_LETTERS, (link.a, link.b), strict=True):
        spec = spec_of(end)
        if spec is not None and spec.single_strand:
            yield Problem(
                place(where, "strands"),
                f"got 2, but {spec.name} at end {letter} sends and receives on one strand",
                "strands = 1",
            )
            return


def _single_strand(where: str, link: LinkTable) -> Iterator[Problem]:
    a, b = spec_of(link.a), spec_of(link.b)
    for letter, spec in zip(_LETTERS, (a, b), strict=True):
        if spec is not None and not spec.single_strand:
            yield Problem(
                place(where, letter, "pmd"),
                f"{spec.name} needs two strands, and strands is 1",
                "strands = 2",
            )
            return
    if a is not None and b is not None and a.name == b.name:
        yield Problem(
            place(where, "b", "pmd"),
            f"both ends are {a.name}; on one strand the two must be unlike",
            f"pmd = {value_text(a.partner)}",
        )
        return
    yield from _wavelengths(where, link)
    yield from _labels(where, link)


def _wavelengths(where: str, link: LinkTable) -> Iterator[Problem]:
    sent = {
        "a": sent_wavelength(link.a, link.b),
        "b": sent_wavelength(link.b, link.a),
    }
    for letter, wavelength in sent.items():
        if wavelength is None:
            yield Problem(
                place(where, letter, "wavelength_nm"),
                "missing: on one strand each end sends its own wavelength; say which, or name the "
                "module type",
                f"wavelength_nm = {1490 if letter == 'a' else 1310}",
            )
    if sent["a"] is not None and sent["a"] == sent["b"]:
        yield Problem(
            place(where, "b", "wavelength_nm"),
            f"both ends send {sent['a']} nm; on one strand the two must be unlike",
            f"wavelength_nm = {1490 if sent['a'] < 1400 else 1310}",
        )


def _labels(where: str, link: LinkTable) -> Iterator[Problem]:
    a, b = link.a.strand, link.b.strand
    if a and b and a != b:
        yield Problem(
            place(where, "b", "strand"),
            f"there is one strand, and it is called {value_text(a)} at end a",
            f"strand = {value_text(a)}",
        )
