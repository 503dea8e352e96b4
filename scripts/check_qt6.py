"""Hold every Qt name of the plugin against PyQt6's stubs, and the host's enums against its rules for Qt 6.

    python scripts/check_qt6.py [FOLDER]     # of the plugin, if left out; needs PyQt6 (in the extra "qt6")

What is imported from qgis.PyQt must be in PyQt6's module of the same name; chains such as Qt.ItemFlag.ItemIsEnabled,
and what is called of an object that a Qt class made, must be there too. Enums must be written with their scope,
QVariant must not be used for types, and nothing may be called by its name of Qt 4 and 5 alone.
"""

from __future__ import annotations

import ast
import importlib.util
import sys
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PLUGIN = ROOT / "asbuilt" / "plugin"
OLD_NAMES = {"exec_": "exec", "QRegExp": "QRegularExpression", "QVariant": "the type of a field that is there"}
"""Names that Qt 6 has not, and what takes their place."""


@dataclass
class Scope:
    """A module or a class of the stubs: what is in it, and what it is made from."""

    names: dict[str, Scope] = field(default_factory=dict)
    bases: list[str] = field(default_factory=list)


class Stubs:
    """PyQt6's stubs."""

    def __init__(self, folder: Path) -> None:
        self.modules: dict[str, Scope] = {}
        self.folder = folder

    def module(self, name: str) -> Scope | None:
        """Give a module, read when first asked for."""
        if name not in self.modules:
            path = self.folder / f"{name}.pyi"
            if not path.is_file():
                return None
            self.modules[name] = _scope(ast.parse(path.read_text("utf-8")).body)
        return self.modules[name]

    def named(self, scope: Scope, name: str) -> Scope | None:
        """Give what a class has by a name, of its own or from what it is made from."""
        if name in scope.names:
            return scope.names[name]
        for base in scope.bases:
            inherited = self.class_of(base)
            found = self.named(inherited, name) if inherited is not None else None
            if found is not None:
                return found
        return None

    def class_of(self, dotted: str) -> Scope | None:
        """Give a class by the name that a stub calls it by, such as QtCore.QObject."""
        module, _, name = dotted.rpartition(".")
        places = [self.module(module)] if module and self.module(module) else list(self.modules.values())
        return next((place.names[name] for place in places if place is not None and name in place.names), None)


def _scope(body: list[ast.stmt]) -> Scope:
    scope = Scope()
    for node in body:
        if isinstance(node, ast.ClassDef):
            inner = _scope(node.body)
            inner.bases = [ast.unparse(base) for base in node.bases]
            scope.names[node.name] = inner
        elif isinstance(node, ast.FunctionDef):
            scope.names[node.name] = Scope()
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            scope.names |= {one.id: Scope() for one in targets if isinstance(one, ast.Name)}
    return scope


def check(folder: Path, stubs: Stubs) -> tuple[list[str], int]:
    """Check the files of a folder.

    Returns
    -------
    wrong : list of str
        Each with file and line.
    checked : int
        Names that were held against the stubs.
    """
    wrong: list[str] = []
    checked = 0
    for path in sorted(folder.glob("*.py")):
        file = _File(path, stubs)
        file.check()
        wrong += file.wrong
        checked += file.checked
    return wrong, checked


class _File:
    def __init__(self, path: Path, stubs: Stubs) -> None:
        self.path, self.stubs = path, stubs
        self.tree = ast.parse(path.read_text("utf-8"))
        self.known: dict[str, Scope] = {}
        self.wrong: list[str] = []
        self.checked = 0

    def check(self) -> None:
        """Check imports first, then what is made of them, then what is used."""
        tried = {id(one) for node in ast.walk(self.tree) if isinstance(node, ast.Try) for one in ast.walk(node)}
        for node in ast.walk(self.tree):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("qgis.PyQt"):
                self._imported(node, tried=id(node) in tried)
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Assign):
                self._assigned(node)
        inner = {id(node.value) for node in ast.walk(self.tree) if isinstance(node, ast.Attribute)}
        called = {id(node.func) for node in ast.walk(self.tree) if isinstance(node, ast.Call)}
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Attribute) and node.attr in OLD_NAMES:
                self._say(node, f"{node.attr} is not for Qt 6: take {OLD_NAMES[node.attr]}")
            elif isinstance(node, ast.Attribute) and id(node) not in inner:
                self._used(node, called=id(node) in called)

    def _say(self, node: ast.AST, text: str) -> None:
        self.wrong.append(f"{self.path.name}:{getattr(node, 'lineno', 0)}: {text}")

    def _imported(self, node: ast.ImportFrom, *, tried: bool) -> None:
        name = (node.module or "").removeprefix("qgis.PyQt").lstrip(".")
        for one in node.names:
            self.checked += 1
            if one.name in OLD_NAMES:
                self._say(node, f"{one.name} is not for Qt 6: take {OLD_NAMES[one.name]}")
                continue
            module = self.stubs.module(name or one.name)
            found = module if not name else self.stubs.named(module, one.name) if module is not None else None
            if found is not None:
                self.known[one.asname or one.name] = found
            elif not tried:
                self._say(node, f"PyQt6 has no {one.name} in {name or 'its modules'}")

    def _assigned(self, node: ast.Assign) -> None:
        """Remember objects that a Qt class made, and short names for an enum."""
        targets = node.targets[0].elts if isinstance(node.targets[0], ast.Tuple) else [node.targets[0]]
        values = node.value.elts if isinstance(node.value, ast.Tuple) else [node.value]
        if len(targets) != len(values):
            return
        for target, value in zip(targets, values, strict=True):
            made = value.func if isinstance(value, ast.Call) else value
            if isinstance(made, ast.Name) and not isinstance(value, ast.Call):
                continue
            scope = self._resolved(_chain(made)) if isinstance(made, ast.Name | ast.Attribute) else None
            name = ".".join(_chain(target)) if isinstance(target, ast.Name | ast.Attribute) else ""
            if name and scope is not None and scope.names:
                self.known[name] = scope

    def _resolved(self, chain: list[str]) -> Scope | None:
        scope = self.known.get(chain[0]) if chain else None
        for name in chain[1:]:
            if scope is None:
                return None
            scope = self.stubs.named(scope, name)
        return scope

    def _used(self, node: ast.Attribute, *, called: bool) -> None:
        chain = _chain(node)
        if chain and chain[0].startswith(("Qgs", "Qgis")) and len(chain) == 2 and chain[1][0].isupper() and not called:
            nested = chain[1].endswith(("Options", "Type", "Flag", "Button", "Layout", "LayerDetails", "Mode"))
            if not nested:
                self._say(node, f"{'.'.join(chain)}: write the enum with its scope")
        for length in range(len(chain) - 1, 0, -1):
            scope = self.known.get(".".join(chain[:length]))
            if scope is not None and scope.names:
                self._follow(node, chain, length, scope)
                return

    def _follow(self, node: ast.Attribute, chain: list[str], length: int, scope: Scope) -> None:
        for at in range(length, len(chain)):
            self.checked += 1
            found = self.stubs.named(scope, chain[at])
            if found is None:
                self._say(node, f"PyQt6 has no {'.'.join(chain[: at + 1])}")
                return
            if not found.names:  # a method, a signal or a member of an enum: what it gives is not followed
                return
            scope = found


def _chain(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Name):
        return [node.id]
    if isinstance(node, ast.Attribute):
        before = _chain(node.value)
        return [*before, node.attr] if before else []
    return []


def main() -> int:
    """Check the plugin, or the folder named, and give the exit status."""
    package = importlib.util.find_spec("PyQt6")
    if package is None or not package.submodule_search_locations:
        print("PyQt6 is not here: pip install 'asbuilt[qt6]'", file=sys.stderr)
        return 2
    folder = Path(sys.argv[1]) if sys.argv[1:] else PLUGIN
    wrong, checked = check(folder, Stubs(Path(next(iter(package.submodule_search_locations)))))
    for one in wrong:
        print(one)
    print(f"{checked} names held against PyQt6: {len(wrong)} wrong")
    return 1 if wrong or not checked else 0


if __name__ == "__main__":
    sys.exit(main())
