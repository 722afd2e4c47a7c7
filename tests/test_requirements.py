"""The lists of packages name what the code imports: nothing is missing, nothing is left over."""

import ast
import re
import sys
from importlib import metadata
from pathlib import Path

from tests.checkout import TOP

LINE = re.compile(r"(?P<name>[A-Za-z0-9._-]+)(\[[a-z0-9]+\])?~=[0-9.]+ +# \S.*")
OURS = {"decaljobs", "workshop", "tests", "scripts"}
#: Found by the standard library itself, and by Django itself.
NEVER_IMPORTED = {"tzdata", "psycopg"}
#: Wanted only where pictures are kept in an S3-compatible storage, and asked for there.
ONLY_FOR_S3 = {"django-storages", "botocore"}


def listed(file: str) -> set[str]:
    lines = [line for line in (TOP / file).read_text().splitlines() if line[:1] not in ("#", "-")]
    return {canonical(match["name"]) for line in lines if (match := LINE.fullmatch(line))}


def canonical(name: str) -> str:
    return re.sub("[-_.]+", "-", name).lower()


def imported(*folders: str) -> set[str]:
    """The packages from outside that the Python files below these folders import."""
    belongs = metadata.packages_distributions()
    modules = {
        module
        for folder in folders
        for file in (TOP / folder).rglob("*.py")
        for module in modules_of(file)
    }
    outside = modules - set(sys.stdlib_module_names) - OURS
    return {canonical(name) for module in outside for name in belongs.get(module, [module])}


def modules_of(file: Path) -> set[str]:
    """The top names of all modules imported in a file, and those named in it as Django wants."""
    found = set()
    for node in ast.walk(ast.parse(file.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and not node.level:
            found.add((node.module or "").split(".")[0])
    if file.name == "settings.py":
        found |= set(re.findall(r'^    "([a-z_]+)[".]', file.read_text(), re.M)) - {"version"}
    return found


def test_it_lists_every_package_with_its_reason_and_its_range() -> None:
    for file in ("requirements.txt", "tests/requirements.txt"):
        for line in (TOP / file).read_text().splitlines():
            assert line.startswith(("# ", "-r ")) or LINE.fullmatch(line), f"{file}: {line}"


def test_it_lists_what_the_program_imports_and_no_more() -> None:
    # A name in the settings counts if it is a package's; the other strings there are no package.
    known = {
        canonical(name) for names in metadata.packages_distributions().values() for name in names
    }
    used = imported("decaljobs", "workshop") - ONLY_FOR_S3
    assert used & known - listed("requirements.txt") == set(), "imported, not listed"
    assert listed("requirements.txt") - used - NEVER_IMPORTED == set(), "listed, not imported"


def test_it_lists_what_the_tests_import() -> None:
    wanted = imported("tests")
    assert wanted - listed("tests/requirements.txt") - listed("requirements.txt") == set()


def test_only_the_storage_asks_for_what_is_not_installed_with_the_rest() -> None:
    asking = {
        file.name
        for folder in ("decaljobs", "workshop")
        for file in (TOP / folder).rglob("*.py")
        if modules_of(file) & {"storages", "botocore", "boto3"}
    }
    assert asking == {"s3.py"}
