"""What a mutant is: one small change of the source text of one module, found with `ast`, everything else untouched.

Arithmetic, comparison and boolean operators are exchanged, signs dropped, numbers changed, `minimum` and `maximum`
exchanged, branches of `where` swapped, reductions over the wrong axis, defaults changed. Texts, annotations and the
descriptions in `@formula(...)` and `Published(...)` carry no behaviour and are left alone; the functions that
`@formula` decorates are mutated like all others.
"""

from __future__ import annotations

import ast
from dataclasses import dataclass

ARITHMETIC = {
    ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*", ast.Pow: "*", ast.FloorDiv: "/", ast.Mod: "*",
    ast.BitAnd: "|", ast.BitOr: "&",
}  # fmt: skip
COMPARISON = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==", ast.Is: "is not",
    ast.IsNot: "is", ast.In: "not in", ast.NotIn: "in",
}  # fmt: skip
#: a comparison is also turned round, as an off-by-one bound and a wrong direction are different mistakes
REVERSED = {ast.Lt: ">", ast.LtE: ">", ast.Gt: "<", ast.GtE: "<"}
NAMES = {
    "minimum": "maximum",
    "maximum": "minimum",
    "min": "max",
    "max": "min",
    "all": "any",
    "any": "all",
    "sqrt": "abs",
}


@dataclass(frozen=True)
class Mutant:
    """Source from `start` to `end` (offsets) replaced by `new`."""

    module: str
    line: int
    start: int
    end: int
    old: str
    new: str

    def apply(self, source: str) -> str:
        return source[: self.start] + self.new + source[self.end :]

    @property
    def place(self) -> tuple[str, int, str]:
        """What tells it from every other, also from the same change elsewhere in its line."""
        return self.module, self.start, self.new

    @property
    def key(self) -> str:
        return f"{self.module}:{self.line}: {self.old} -> {self.new}"


class Finder(ast.NodeVisitor):
    """Collects the mutants of one module."""

    def __init__(self, module: str, source: str) -> None:
        self.module, self.source, self.found = module, source, list[Mutant]()
        self.lines = [0]
        for text in source.encode().splitlines(keepends=True):
            self.lines.append(self.lines[-1] + len(text))
        self.raw = source.encode()

    def offset(self, line: int, column: int) -> int:
        return len(self.raw[: self.lines[line - 1] + column].decode())

    def span(self, node: ast.AST) -> tuple[int, int]:
        return (
            self.offset(node.lineno, node.col_offset),  # type: ignore[attr-defined]
            self.offset(node.end_lineno, node.end_col_offset),  # type: ignore[attr-defined]
        )

    def add(self, line: int, start: int, end: int, new: str) -> None:
        self.found.append(Mutant(self.module, line, start, end, self.source[start:end], new))

    def between(self, left: ast.AST, right: ast.AST, new: str) -> None:
        """Replace the operator that stands between two operands, leaving brackets and blanks."""
        start, end = self.span(left)[1], self.span(right)[0]
        text = self.source[start:end]
        bare = text.strip("() \n")
        if "#" in text or not bare:
            return
        at = start + text.index(bare)
        self.add(right.lineno, at, at + len(bare), new)  # type: ignore[attr-defined]

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        # neither decorators nor annotations nor docstrings
        for default in (*node.args.defaults, *(d for d in node.args.kw_defaults if d is not None)):
            self.visit(default)
        for statement in node.body:
            self.visit(statement)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for statement in node.body:
            self.visit(statement)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Expr(self, node: ast.Expr) -> None:
        if not isinstance(node.value, ast.Constant):
            self.visit(node.value)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        new = ARITHMETIC.get(type(node.op))
        if new is not None and not isinstance(node.left, ast.JoinedStr):
            self.between(node.left, node.right, new)
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        new = ARITHMETIC.get(type(node.op))
        if new is not None:
            self.between(node.target, node.value, new + "=")
        self.visit(node.value)

    def visit_Compare(self, node: ast.Compare) -> None:
        left = node.left
        for op, right in zip(node.ops, node.comparators, strict=True):
            self.between(left, right, COMPARISON[type(op)])
            if type(op) in REVERSED:
                self.between(left, right, REVERSED[type(op)])
            left = right
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        new = "or" if isinstance(node.op, ast.And) else "and"
        for left, right in zip(node.values, node.values[1:], strict=False):
            self.between(left, right, new)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.USub | ast.Not | ast.Invert):
            start, _ = self.span(node)
            inner = self.span(node.operand)[0]
            text = self.source[start:inner]
            keep = text.lstrip("-~").removeprefix("not ")
            self.add(node.lineno, start, inner, keep)
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        value = node.value
        start, end = self.span(node)
        if isinstance(value, bool):
            self.add(node.lineno, start, end, str(not value))
        elif isinstance(value, int):
            self.add(node.lineno, start, end, str(value + 1))
        elif isinstance(value, float):
            self.add(node.lineno, start, end, repr(value * 1.5 if value else 1.0))

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name in NAMES:
            _, end = self.span(node.func)
            self.add(node.lineno, end - len(name), end, NAMES[name])
        if name == "where" and len(node.args) == 3:
            (a, b), (c, d) = self.span(node.args[1]), self.span(node.args[2])
            middle = self.source[b:c]
            self.add(node.lineno, a, d, self.source[c:d] + middle + self.source[a:b])
        self.generic_visit(node)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        start, end = self.span(node.test)
        self.add(node.lineno, start, end, f"not ({self.source[start:end]})")
        self.generic_visit(node)

    def visit_If(self, node: ast.If) -> None:
        start, end = self.span(node.test)
        if not (isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"):
            self.add(node.lineno, start, end, f"not ({self.source[start:end]})")
        self.generic_visit(node)


def mutants(module: str, source: str) -> list[Mutant]:
    """Every mutant of a module that still compiles, in the order of the source."""
    finder = Finder(module, source)
    finder.visit(ast.parse(source))
    unique = {(m.start, m.end, m.new): m for m in finder.found}
    kept = []
    for mutant in sorted(unique.values(), key=lambda m: (m.start, m.end, m.new)):
        try:
            compile(mutant.apply(source), module, "exec")
        except SyntaxError:
            continue
        kept.append(mutant)
    return kept
