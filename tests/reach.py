"""Which modules and public names of the product nothing reaches from its doors.

Follows imports and names through the source, without running it. What is written at the
top of a module is reached with the module; a function, a class or a constant only if
something reached names it. A class is reached as a whole, for frameworks call methods
by name, and a function that a decorator of the product puts on a list is reached with
its module.
"""

from __future__ import annotations

import ast
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

# A module and a name in it; the module itself with an empty name
Target = tuple[str, str]
_FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


@dataclass(slots=True, kw_only=True)
class Module:
    """The source of a module, sorted by what it defines.

    Attributes:
        name: Full name of the module.
        package: Full name of the package that it is in; its own if it is one.
        definitions: Statements by the names that they define.
        imports: What imported names stand for.
        top: Statements that run with the module and define nothing.
    """

    name: str
    package: str
    definitions: dict[str, list[ast.stmt]] = field(default_factory=dict)
    imports: dict[str, Target] = field(default_factory=dict)
    top: list[ast.AST] = field(default_factory=list)


def read_modules(root: Path, packages: Iterable[str]) -> dict[str, Module]:
    """Read every module of some packages below a folder."""
    found = {}
    for package in packages:
        for path in sorted((root / package).rglob("*.py")):
            parts = path.relative_to(root).with_suffix("").parts
            whole = parts[-1] == "__init__"
            name = ".".join(parts[:-1] if whole else parts)
            above = name if whole else name.rpartition(".")[0]
            found[name] = Module(name=name, package=above)
            _sort(ast.parse(path.read_text("utf-8")).body, found[name])
    return found


def _sort(body: Iterable[ast.stmt], module: Module) -> None:
    for node in body:
        names = list(_defined(node))
        if isinstance(node, ast.Import | ast.ImportFrom):
            module.imports |= _imported(node, module)
        elif isinstance(node, ast.If | ast.Try | ast.With):
            _sort([each for each in ast.iter_child_nodes(node) if _is(each)], module)
            module.top += [each for each in ast.iter_child_nodes(node) if not _is(each)]
        elif names:
            for name in names:
                module.definitions.setdefault(name, []).append(node)
        else:
            module.top.append(node)


def _is(node: ast.AST) -> bool:
    return isinstance(node, ast.stmt)


def _defined(node: ast.stmt) -> Iterator[str]:
    if isinstance(node, (*_FUNCTIONS, ast.ClassDef)):
        yield node.name
    elif isinstance(node, ast.Assign | ast.AnnAssign):
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        for target in targets:
            for each in ast.walk(target):
                if isinstance(each, ast.Name):
                    yield each.id


def _imported(
    node: ast.Import | ast.ImportFrom, module: Module
) -> Iterator[tuple[str, Target]] | dict[str, Target]:
    if isinstance(node, ast.Import):
        return {
            each.asname or each.name.partition(".")[0]: (
                each.name if each.asname else each.name.partition(".")[0],
                "",
            )
            for each in node.names
        }
    source = node.module or ""
    if node.level:
        above = module.package.split(".")
        above = above[: len(above) - node.level + 1]
        source = ".".join([*above, source] if source else above)
    return {each.asname or each.name: (source, each.name) for each in node.names}


def _names_used(node: ast.AST, own: frozenset[str] = frozenset()) -> Iterator[str]:
    """Yield the names that a statement uses and that are not a function's own."""
    if isinstance(node, ast.Name):
        if node.id not in own:
            yield node.id
    elif isinstance(node, (*_FUNCTIONS, ast.Lambda)):
        inside = node.body if isinstance(node.body, list) else [node.body]
        mine = own | _own_names(node)
        for each in ast.iter_child_nodes(node):
            # Defaults, annotations and decorators belong to what is around
            yield from _names_used(each, mine if each in inside else own)
    else:
        for each in ast.iter_child_nodes(node):
            yield from _names_used(each, own)


def _own_names(function: ast.AST) -> frozenset[str]:
    return frozenset(
        each.arg if isinstance(each, ast.arg) else each.id
        for each in ast.walk(function)
        if isinstance(each, ast.arg)
        or (isinstance(each, ast.Name) and isinstance(each.ctx, ast.Store))
    )


class Reach:
    """What is reached from some doors.

    Attributes:
        reached: Modules and names in them.
    """

    def __init__(self, modules: dict[str, Module], doors: Iterable[Target]) -> None:
        self._modules = modules
        self.reached: set[Target] = set()
        self._left: deque[Target] = deque()
        for door in doors:
            if not self._known(door):
                raise ValueError(f"there is no door {':'.join(door)}")
            self._go(door)
        while self._left:
            self._look_into(self._left.popleft())

    def unreached(self) -> list[str]:
        """Return the modules and the public names that nothing reaches."""
        found = []
        for name, module in self._modules.items():
            if (name, "") not in self.reached:
                found.append(name)
                continue
            found += [
                f"{name}:{each}"
                for each in module.definitions
                if not each.startswith("_") and (name, each) not in self.reached
            ]
        return sorted(found)

    def _known(self, target: Target) -> bool:
        module = self._modules.get(target[0])
        return module is not None and (
            not target[1]
            or target[1] in module.definitions
            or target[1] in module.imports
        )

    def _go(self, target: Target) -> None:
        """Put a definition or a module on the list, by whatever name it goes."""
        module_name, name = target
        if f"{module_name}.{name}" in self._modules:
            target = f"{module_name}.{name}", ""
        if target[0] not in self._modules or target in self.reached:
            return
        self.reached.add(target)
        self._left.append(target)
        if target[1]:
            self._go((target[0], ""))

    def _look_into(self, target: Target) -> None:
        module = self._modules[target[0]]
        if not target[1]:
            parent = target[0].rpartition(".")[0]
            if parent:
                self._go((parent, ""))
            self._look_at_module(module)
        elif target[1] in module.definitions:
            for node in module.definitions[target[1]]:
                self._look_at(node, module)
        elif target[1] in module.imports:
            self._go(module.imports[target[1]])

    def _look_at_module(self, module: Module) -> None:
        for source, name in module.imports.values():
            # It is loaded; what is imported from it is not used by that alone
            self._go((source, ""))
            if f"{source}.{name}" in self._modules:
                self._go((f"{source}.{name}", ""))
        for node in module.top:
            self._look_at(node, module)
        for name, nodes in module.definitions.items():
            if any(self._is_listed(node, module) for node in nodes):
                self._go((module.name, name))

    def _is_listed(self, node: ast.stmt, module: Module) -> bool:
        """Whether a decorator of the product stands over a function."""
        return isinstance(node, _FUNCTIONS) and any(
            isinstance(each, ast.Name) and self._stands_for(each.id, module)
            for decorator in node.decorator_list
            for each in ast.walk(decorator)
        )

    def _stands_for(self, name: str, module: Module) -> bool:
        source = module.imports.get(name, (module.name, ""))[0]
        return source in self._modules and (
            name in module.imports or name in module.definitions
        )

    def _look_at(self, node: ast.AST, module: Module) -> None:
        local = dict(module.imports)
        for each in ast.walk(node):
            if isinstance(each, ast.Import | ast.ImportFrom):
                found = dict(_imported(each, module))
                local |= found
                for source, name in found.values():
                    self._go((source, ""))
                    if f"{source}.{name}" in self._modules:
                        self._go((f"{source}.{name}", ""))
        for used in _names_used(node):
            self._named(used, local, module)
        for each in ast.walk(node):
            if isinstance(each, ast.Attribute):
                self._attribute(each, local)
            elif isinstance(each, ast.Constant) and isinstance(each.value, str):
                self._text(each.value)

    def _named(self, name: str, local: dict[str, Target], module: Module) -> None:
        if name in module.definitions:
            self._go((module.name, name))
        if name in local:
            self._go(local[name])

    def _attribute(self, node: ast.Attribute, local: dict[str, Target]) -> None:
        """Follow `module.name`, as far as it leads through modules."""
        names = [node.attr]
        value = node.value
        while isinstance(value, ast.Attribute):
            names.append(value.attr)
            value = value.value
        if not isinstance(value, ast.Name) or value.id not in local:
            return
        source, name = local[value.id]
        place = f"{source}.{name}" if name else source
        for attribute in reversed(names):
            if place not in self._modules:
                return
            self._go((place, attribute))
            place = f"{place}.{attribute}"

    def _text(self, text: str) -> None:
        """Follow `package.module:Name`, as it stands in tables."""
        place, colon, name = text.partition(":")
        if colon and place in self._modules and name.isidentifier():
            self._go((place, name))
