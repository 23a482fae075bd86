"""What the tool is delivered with: each package, its version, licence and hashes, as CycloneDX JSON.

    python -m tests.bill_of_materials OUT.json

reads requirements.txt, and the licences from the packages as they are installed here.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import PackageMetadata, distribution
from pathlib import Path

from cyclonedx.factory.license import LicenseFactory
from cyclonedx.model import HashAlgorithm, HashType
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentType
from cyclonedx.output.json import JsonV1Dot6
from packageurl import PackageURL
from packaging.requirements import Requirement

from valuation import __version__

ROOT = Path(__file__).resolve().parents[1]
RUN, TESTS = ROOT / "requirements.txt", ROOT / "tests" / "requirements.txt"

_PLAIN = {
    "3-Clause BSD License": "BSD-3-Clause",
    "Apache License 2.0": "Apache-2.0",
    "BSD 3-Clause License": "BSD-3-Clause",
    "BSD License": "BSD-3-Clause",
}
"""What packages call their licence in older ways, by its name in the list of SPDX.

'BSD License' alone leaves open which; each of those locked was looked at in November 2026 and has three clauses.
"""


@dataclass(frozen=True, slots=True)
class Locked:
    """A package of a lock.

    Attributes
    ----------
    requirement : Requirement
        Name, version, and on which systems it is wanted.
    hashes : tuple of str
        SHA-256 of each of its files.
    """

    requirement: Requirement
    hashes: tuple[str, ...]

    @property
    def version(self) -> str:
        (pin,) = self.requirement.specifier
        return pin.version


def read_lock(path: Path) -> list[Locked]:
    """Return the packages of a lock, in its order."""
    entries = re.split(r"\n(?=[^ #\n])", path.read_text(encoding="utf-8").strip())
    return [
        Locked(Requirement(entry.partition("\\")[0].strip()), tuple(re.findall(r"--hash=sha256:([0-9a-f]{64})", entry)))
        for entry in entries
    ]


def wanted_here(path: Path) -> Iterator[Locked]:
    """Yield the packages of a lock that a system like this one needs."""
    yield from (one for one in read_lock(path) if not (marker := one.requirement.marker) or marker.evaluate())


def licence_of(metadata: PackageMetadata) -> str:
    """Return the licence of an installed package as an expression of SPDX; what it says itself where that is none."""
    said = metadata.get("License-Expression")
    if not said:
        classified = [kind.rpartition(" :: ")[2] for kind in metadata.get_all("Classifier", []) if "License ::" in kind]
        given = metadata.get("License") or ""
        said = given if given and "\n" not in given and len(given) < 40 else next(iter(classified), "")
    return _PLAIN.get(said, said)


def bill() -> Bom:
    """Return the bill of materials of the tool."""
    made = LicenseFactory()
    whole = Bom()
    whole.metadata.component = Component(name="valuation", version=__version__, type=ComponentType.APPLICATION)
    parts = []
    for locked in wanted_here(RUN):
        name = locked.requirement.name
        parts.append(
            Component(
                name=name,
                version=locked.version,
                type=ComponentType.LIBRARY,
                bom_ref=f"{name}=={locked.version}",
                purl=PackageURL("pypi", None, name.lower().replace("_", "-"), locked.version),
                licenses=[made.make_from_string(licence_of(distribution(name).metadata))],
                hashes=[HashType(alg=HashAlgorithm.SHA_256, content=content) for content in locked.hashes],
            )
        )
    whole.components = parts
    whole.register_dependency(whole.metadata.component, parts)
    return whole


def main(arguments: list[str]) -> None:
    """Write the bill of materials."""
    if len(arguments) != 1 or not arguments[0].endswith(".json"):
        raise SystemExit("say where it goes: python -m tests.bill_of_materials OUT.json")
    JsonV1Dot6(bill()).output_to_file(arguments[0], allow_overwrite=True, indent=2)


if __name__ == "__main__":
    main(sys.argv[1:])
