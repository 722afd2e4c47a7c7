"""README.md and DEVELOPERS.md against the program: what they name exists, what exists is named."""

import re

import pytest

from tests.checkout import TOP

README, DEVELOPERS = "README.md", "DEVELOPERS.md"
TEXTS = {name: (TOP / name).read_text(encoding="utf-8") for name in (README, DEVELOPERS)}
BOTH = "\n".join(TEXTS.values())

COMMANDS = TOP / "decaljobs" / "management" / "commands"
#: Commands of the first steps, which run before Django is there, and where their options are read.
FIRST_STEPS = {"start": TOP / "workshop" / "options.py", "test": TOP / "workshop" / "options.py"}
CODE = ("decaljobs", "workshop", "tests", ".ci")
VARIABLE = re.compile(r"\bDECALJOBS_[A-Z]\w*")
#: Made when the program runs, or no path at all.
NOT_IN_THE_CHECKOUT = {".data/", ".venv", "Europe/London"}


def quoted(text: str) -> list[str]:
    """Everything set in code type on one line."""
    plain = re.sub(r"^```.*?^```", "", text, flags=re.MULTILINE | re.DOTALL)
    return re.findall(r"`([^`\n]+)`", plain)


def sources() -> list[str]:
    files = [file for folder in CODE for file in (TOP / folder).rglob("*")]
    kept = [f for f in files if f.suffix == ".py" or f.name == "run"]
    return [file.read_text(encoding="utf-8") for file in kept if file.name != "test_docs.py"]


def commands() -> dict[str, str]:
    """Every command and the code in which its options are read."""
    own = {file.stem: file for file in COMMANDS.glob("[a-z]*.py")}
    return {name: file.read_text(encoding="utf-8") for name, file in {**own, **FIRST_STEPS}.items()}


def rows_of_commands() -> list[tuple[set[str], list[str]]]:
    """The README's table of commands: what each row names, and the options it speaks of."""
    table = TEXTS[README].split("## From a terminal")[1].split("\n\n## ")[0]
    rows = [line for line in table.splitlines() if line.startswith("| `")]
    found = []
    for row in rows:
        first = row.split("|")[1]
        named = {words.split()[0] for words in quoted(first)}
        found.append((named, re.findall(r"(?<![\w-])(--?[a-z][a-z-]*)", row)))
    return found


def test_every_command_is_in_the_table_and_the_table_names_no_other():
    named = set().union(*(names for names, _ in rows_of_commands()))
    assert named == set(commands())


def test_every_option_in_the_table_is_read_by_its_command():
    code = commands()
    for names, options in rows_of_commands():
        for option in options:
            assert any(f'"{option}"' in code[name] for name in names), (names, option)


@pytest.mark.parametrize("name", [README, DEVELOPERS])
def test_every_command_that_is_shown_exists(name):
    shown = re.findall(r"manage\.py ([a-z_]+)", TEXTS[name])
    assert shown
    django = {"makemigrations", "migrate", "shell", "check", "createsuperuser"}
    assert set(shown) <= set(commands()) | django


def test_every_module_that_is_to_be_run_exists():
    modules = re.findall(r"python -m ([a-z_.]+)", BOTH)
    assert modules
    for module in modules:
        place = TOP / module.replace(".", "/")
        assert place.with_suffix(".py").is_file() or (place / "__main__.py").is_file(), module


def test_the_variables_that_are_read_are_the_variables_that_are_told_of():
    read = {found for source in sources() for found in VARIABLE.findall(source)}
    assert read == set(VARIABLE.findall(BOTH))


@pytest.mark.parametrize("name", [README, DEVELOPERS])
def test_every_file_and_folder_that_is_named_exists(name):
    words = {word for word in quoted(TEXTS[name]) if re.fullmatch(r"[\w./-]*/[\w./-]*|\.\w+", word)}
    inside = {word for word in words if not word.startswith("../")} - NOT_IN_THE_CHECKOUT
    assert inside
    missing = [word for word in sorted(inside) if not (TOP / word).exists()]
    assert not missing


def test_every_file_that_is_named_without_its_folder_exists():
    names = [w for w in quoted(BOTH) if re.fullmatch(r"\w+\.(py|html|css|js|md|txt)", w)]
    assert names
    for name in names:
        assert any(next((TOP / folder).rglob(name), None) for folder in ("templates", "decaljobs"))


def test_every_name_in_the_code_that_developers_are_told_of_exists():
    words = {
        word for word in quoted(TEXTS[DEVELOPERS]) if re.fullmatch(r"[a-z]+([_-][a-z]+)*", word)
    }
    assert words
    code = "\n".join(sources())
    missing = [word for word in sorted(words) if not re.search(rf"def {word}\b|\"{word}\"", code)]
    assert not missing


def test_every_room_of_the_house_is_described():
    rooms = [
        folder for folder in (TOP / "decaljobs").iterdir() if (folder / "__init__.py").exists()
    ]
    assert len(rooms) >= 7
    for room in rooms:
        assert f"`decaljobs/{room.name}/" in TEXTS[DEVELOPERS], room.name


@pytest.mark.parametrize("room", ["craft", "services"])
def test_every_folder_of_a_large_room_is_described(room):
    folders = {initial.parent.name for initial in (TOP / "decaljobs" / room).glob("*/__init__.py")}
    described = re.findall(rf"^\| `decaljobs/{room}/([a-z]+)/` \|", TEXTS[DEVELOPERS], re.MULTILINE)
    assert folders and set(described) == folders


def test_every_picture_and_link_leads_to_a_file_of_ours():
    links = re.findall(r"\]\(([^)#]+)\)", BOTH)
    own = [link for link in links if not link.startswith("http")]
    assert own
    for link in own:
        assert (TOP / link).is_file(), link
        # A page that is read on a slow line; half a dozen pictures at most stand on it.
        assert (TOP / link).stat().st_size < 300_000, link
