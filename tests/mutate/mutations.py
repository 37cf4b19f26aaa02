"""The mutations of a module: cosmic-ray's operators, fewer of each sort, and a few of our own.

Of the pairs of operators that cosmic-ray exchanges we take those that a slip of the hand makes; the
others are noticed by the same tests. Annotations are left alone: nothing runs them. So is what a
dataclass is asked to be: that all of them are frozen is a test of its own.
"""

from __future__ import annotations

import ast
import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import parso
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.operators.operator import Operator
from cosmic_ray.plugins import get_operator

_COMPARISONS = (
    "Lt_LtE Lt_GtE LtE_Lt LtE_Gt Gt_GtE Gt_LtE GtE_Gt GtE_Lt Eq_NotEq NotEq_Eq Is_IsNot IsNot_Is"
)
_BINARIES = (
    "Add_Sub Sub_Add Mul_Add Mul_FloorDiv Div_Mul FloorDiv_Mul FloorDiv_Div Mod_Mul Pow_Mul"
    " BitAnd_BitOr BitOr_BitAnd"
)
_NAMES = (
    *(f"ReplaceComparisonOperator_{pair}" for pair in _COMPARISONS.split()),
    *(f"ReplaceBinaryOperator_{pair}" for pair in _BINARIES.split()),
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceUnaryOperator_Delete_USub",
    "AddNot",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "NumberReplacer",
    "ZeroIterationForLoop",
)


_OPPOSITES = {"min": "max", "max": "min", "any": "all", "all": "any"}


class Exchange(Operator):
    """A name that is called becomes its opposite."""

    def mutation_positions(self, node: Any) -> Iterator[Any]:
        if node.type == "name" and node.value in _OPPOSITES and _is_called(node):
            yield node.start_pos, node.end_pos

    def mutate(self, node: Any, index: int) -> Any:
        return parso.python.tree.Name(_OPPOSITES[node.value], node.start_pos, prefix=node.prefix)

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


class Membership(Operator):
    """`in` becomes `not in`, and the other way round."""

    def mutation_positions(self, node: Any) -> Iterator[Any]:
        for operator in self._operators(node):
            yield operator.start_pos, operator.end_pos

    @staticmethod
    def _operators(node: Any) -> list[Any]:
        if node.type != "comparison":
            return []
        return [one for one in node.children[1::2] if one.get_code().split()[-1] == "in"]

    def mutate(self, node: Any, index: int) -> Any:
        operator = self._operators(node)[index]
        place = node.children.index(operator)
        turned = " in" if operator.get_code().split()[0] == "not" else " not in"
        node.children[place] = parso.parse(turned)
        return node

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


def _is_called(node: Any) -> bool:
    following = node.get_next_sibling()
    return (
        following is not None
        and following.type == "trailer"
        and following.children[0].value == "("
        and node.parent.children[0] is node
    )


@dataclass(frozen=True, slots=True)
class Mutation:
    """One change of a module.

    `line` is where, from 1; `was` and `became` are the line before and after. `inside` is the
    dotted name of the outermost function whose body it is in; None where it runs on import.
    """

    line: int
    was: str
    became: str
    inside: str | None
    code: str

    def diff(self, code: str, name: str) -> str:
        """The change as a patch."""
        lines = difflib.unified_diff(
            code.splitlines(), self.code.splitlines(), name, name, lineterm="", n=2
        )
        return "\n".join(lines)


def mutations(code: str) -> list[Mutation]:
    """Every mutation of a module, by line; each change of the text once."""
    bodies, dead = _bodies(ast.parse(code)), _never_run(ast.parse(code))
    found: dict[str, Mutation] = {}
    for operator in _operators():
        for occurrence, (line, column) in enumerate(_places(code, operator)):
            if (line, column) in dead or any(a <= (line, column) < b for a, b in dead):
                continue
            mutated = mutate_code(code, operator, occurrence)
            if mutated is None or mutated in found or not _compiles(mutated):
                continue
            was, became = _changed(code, mutated)
            inside = next((name for name, a, b in bodies if a <= line <= b), None)
            found[mutated] = Mutation(line, was, became, inside, mutated)
    return sorted(found.values(), key=lambda mutation: (mutation.line, mutation.became))


def _operators() -> list[Operator]:
    return [*(get_operator(f"core/{name}")() for name in _NAMES), Exchange(), Membership()]


def _places(code: str, operator: Operator) -> Iterator[tuple[int, int]]:
    for node in ast_nodes(get_ast(code)):
        for start, _ in operator.mutation_positions(node):
            yield start


def _compiles(code: str) -> bool:
    try:
        compile(code, "mutated", "exec")
    except (SyntaxError, ValueError):
        return False
    return True


def _changed(code: str, mutated: str) -> tuple[str, str]:
    for was, became in zip(code.splitlines(), mutated.splitlines(), strict=False):
        if was != became:
            return was.strip(), became.strip()
    return "", ""


def _bodies(tree: ast.Module) -> list[tuple[str, int, int]]:
    """The outermost functions, by dotted name, with the lines of their bodies."""

    def within(node: ast.AST, name: str) -> Iterator[tuple[str, int, int]]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.ClassDef):
                yield from within(child, f"{name}{child.name}.")
            elif isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef):
                first, last = child.body[0].lineno, child.body[-1].end_lineno
                if first > child.lineno:  # what stands on the line of the head may run on import
                    yield f"{name}{child.name}", first, last or first

    return list(within(tree, ""))


Span = tuple[tuple[int, int], tuple[int, int]]


def _never_run(tree: ast.Module) -> list[Span]:
    """Annotations, what only a type checker reads, and what is said to `dataclass`."""
    spans: list[Span] = []
    for node in ast.walk(tree):
        parts: list[ast.expr | ast.stmt | None] = []
        if isinstance(node, ast.arg | ast.AnnAssign):
            parts.append(node.annotation)
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            parts.append(node.returns)
        elif isinstance(node, ast.ClassDef):
            parts += [one for one in node.decorator_list if "dataclass" in ast.unparse(one)]
        elif isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            parts.append(node)  # type: ignore[arg-type]
        spans += [
            ((part.lineno, part.col_offset), (part.end_lineno or 0, part.end_col_offset or 0))
            for part in parts
            if part is not None
        ]
    return spans


__all__ = ["Mutation", "mutations"]
