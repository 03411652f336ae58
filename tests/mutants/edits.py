"""Edits of a module's source, each of which changes what it means."""

from __future__ import annotations

import ast
import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass, replace

_TURNED: dict[type[ast.cmpop], str] = {
    ast.Lt: ">", ast.Gt: "<", ast.LtE: ">=", ast.GtE: "<=", ast.Eq: "!=", ast.NotEq: "==",
    ast.In: "not in", ast.NotIn: "in", ast.Is: "is not", ast.IsNot: "is",
}  # fmt: skip
_BOUNDARY: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=", ast.Gt: ">=", ast.LtE: "<", ast.GtE: ">",
}  # fmt: skip
_SIGN: dict[type[ast.operator], str] = {
    ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*", ast.FloorDiv: "*", ast.Mod: "*",
    ast.BitAnd: "|", ast.BitOr: "&",
}  # fmt: skip
_OTHER_NAME = {
    "min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum",
    "maximum": "minimum", "floor": "ceil", "ceil": "floor", "sin": "cos", "cos": "sin",
    "round_down": "round_up", "most": "least", "argmin": "argmax", "argmax": "argmin",
}  # fmt: skip
_GUARD = "strict"  # of zip: it only guards against a slip of ours
# Said to nobody: a name in these calls is words, an error's or a page's.
_WORDS = frozenset({"print", "echo", "Option", "Argument", "field"})


@dataclass(frozen=True)
class Edit:
    """One edit: what stands from ``start`` to ``end`` (bytes) becomes ``new``."""

    module: str
    function: str
    line: int
    kind: str
    start: int
    end: int
    old: str
    new: str
    nth: int = 0  # of those that read the same in one function

    @property
    def key(self) -> str:
        """Name the edit so that it is known again when something else in its file has changed."""
        told = (self.module, self.function, self.kind, self.old, self.new, str(self.nth))
        return hashlib.sha256("|".join(told).encode()).hexdigest()[:12]

    def applied(self, source: bytes) -> bytes:
        """Give the source with this edit in it."""
        return source[: self.start] + self.new.encode() + source[self.end :]


def edits_of(module: str, source: bytes, optional: Set[str]) -> tuple[Edit, ...]:
    """Give every edit of a module; ``optional`` names keywords that a call may leave out."""
    found = _Finder(module, source, optional)
    found.visit(ast.parse(source))
    # An edit that leaves nothing to run, or the same, is none.
    counts: Counter[str] = Counter()
    edits = []
    for edit in sorted(found.edits, key=lambda one: (one.start, one.end)):
        numbered = replace(edit, nth=counts[edit.key])
        counts[edit.key] += 1
        if edit.old != edit.new and _compiles(edit, source):
            edits.append(numbered)
    return tuple(edits)


def optional_keywords(sources: Iterable[bytes]) -> frozenset[str]:
    """Give the names of parameters that have a default somewhere."""
    names = {"key", "reverse", "default", "start", "axis", "strict", "side"}
    for source in sources:
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.FunctionDef):
                spec = node.args
                pairs = zip(spec.kwonlyargs, spec.kw_defaults, strict=True)
                names |= {one.arg for one, default in pairs if default is not None}
                names |= {one.arg for one in spec.args[len(spec.args) - len(spec.defaults) :]}
    return frozenset(names - {"strict"})


def _is_words(node: ast.expr) -> bool:
    if isinstance(node, ast.Constant):
        return not isinstance(node.value, int | float)
    return isinstance(node, ast.JoinedStr)


def _compiles(edit: Edit, source: bytes) -> bool:
    try:
        compile(edit.applied(source), edit.module, "exec")
    except (SyntaxError, ValueError):
        return False
    return True


class _Finder(ast.NodeVisitor):
    def __init__(self, module: str, source: bytes, optional: Set[str]) -> None:
        self.edits: list[Edit] = []
        self._module, self._source, self._optional = module, source, optional
        lines = source.splitlines(keepends=True)
        self._at = [0]
        for line in lines:
            self._at.append(self._at[-1] + len(line))
        self._within: list[str] = []

    # Where things stand.

    def _span(self, node: ast.AST) -> tuple[int, int]:
        start = self._at[node.lineno - 1] + node.col_offset  # type: ignore[attr-defined]
        end = self._at[node.end_lineno - 1] + node.end_col_offset  # type: ignore[attr-defined]
        return start, end

    def _text(self, node: ast.AST) -> str:
        start, end = self._span(node)
        return self._source[start:end].decode()

    def _put(self, node: ast.AST, kind: str, new: str, span: tuple[int, int] | None = None) -> None:
        start, end = span or self._span(node)
        old = self._source[start:end].decode()
        function = ".".join(self._within) or "<module>"
        line = node.lineno  # type: ignore[attr-defined]
        self.edits.append(Edit(self._module, function, line, kind, start, end, old, new))

    def _between(self, left: ast.AST, right: ast.AST) -> tuple[int, int]:
        return self._span(left)[1], self._span(right)[0]

    # What is passed over: words, types, what only a checker of types reads.

    def _body(self, body: Iterable[ast.stmt]) -> Iterator[ast.stmt]:
        for node in body:
            is_words = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
            if not is_words and not isinstance(node, ast.Import | ast.ImportFrom | ast.Raise):
                yield node

    def visit_Module(self, node: ast.Module) -> None:
        for one in self._body(node.body):
            self.visit(one)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        if any("Protocol" in ast.unparse(base) for base in node.bases):
            return
        self._within.append(node.name)
        for one in self._body(node.body):
            self.visit(one)
        self._within.pop()

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        cached = any("cache" in ast.unparse(one) for one in node.decorator_list)
        self._within.append("<cached>" if cached and not self._within else node.name)
        for default in (*node.args.defaults, *node.args.kw_defaults):
            if default is not None:
                self.visit(default)
        for one in self._body(node.body):
            self.visit(one)
        self._within.pop()

    def visit_AsyncFunctionDef(self, node: ast.AsyncFunctionDef) -> None:
        self.visit_FunctionDef(node)  # type: ignore[arg-type]

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Assign(self, node: ast.Assign) -> None:
        if not any(isinstance(one, ast.Name) and one.id == "__all__" for one in node.targets):
            self.visit(node.value)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        pass

    # The edits.

    def visit_Compare(self, node: ast.Compare) -> None:
        operands = (node.left, *node.comparators)
        for k, op in enumerate(node.ops):
            span = self._between(operands[k], operands[k + 1])
            gap = self._source[span[0] : span[1]].decode()
            if "(" in gap or ")" in gap:
                continue
            self._put(node, "comparison turned", f" {_TURNED[type(op)]} ", span)
            if type(op) in _BOUNDARY:
                self._put(node, "boundary moved", f" {_BOUNDARY[type(op)]} ", span)
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        other = " or " if isinstance(node.op, ast.And) else " and "
        span = self._between(node.values[0], node.values[1])
        if not set("()") & set(self._source[span[0] : span[1]].decode()):
            self._put(node, "and for or", other, span)
        for one in node.values:
            if len(node.values) > 1 and isinstance(one, ast.Compare | ast.Call | ast.UnaryOp):
                new = "True" if isinstance(node.op, ast.And) else "False"
                self._put(one, "condition dropped", new)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        span = self._between(node.left, node.right)
        gap = self._source[span[0] : span[1]].decode()
        words = _is_words(node.left) or _is_words(node.right)
        if type(node.op) in _SIGN and not set("()") & set(gap) and not words:
            self._put(node, "sign flipped", f" {_SIGN[type(node.op)]} ", span)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not):
            self._put(node, "not dropped", self._text(node.operand))
        if isinstance(node.op, ast.USub) and not isinstance(node.operand, ast.Constant):
            self._put(node, "sign flipped", self._text(node.operand))
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        value = node.value
        if isinstance(value, bool):
            self._put(node, "constant moved", str(not value))
        elif isinstance(value, int):
            self._put(node, "constant moved", str(value + 1))
        elif isinstance(value, float):
            self._put(node, "constant moved", repr(value * 1.5 if value else 1.0))

    def visit_If(self, node: ast.If) -> None:
        if "TYPE_CHECKING" in self._text(node.test):
            return
        self._put(node.test, "branch always taken", "True")
        self._put(node.test, "branch never taken", "False")
        self.visit(node.test)
        for one in (*self._body(node.body), *self._body(node.orelse)):
            self.visit(one)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self._put(node.test, "branch always taken", "True")
        self._put(node.test, "branch never taken", "False")
        self.generic_visit(node)

    def visit_comprehension(self, node: ast.comprehension) -> None:
        for test in node.ifs:
            self._put(test, "filter dropped", "True")
        self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        name = getattr(node.func, "id", getattr(node.func, "attr", ""))
        if name in _WORDS or name.endswith(("Error", "Exit")):
            return
        self._other_call(node, name)
        for one in node.keywords:
            if one.arg in self._optional and len(node.keywords) + len(node.args) > 1:
                self._without(node, one)
        for part in (
            node.func,
            *node.args,
            *(one.value for one in node.keywords if one.arg != _GUARD),
        ):
            self.visit(part)

    def _other_call(self, node: ast.Call, name: str) -> None:
        if name in _OTHER_NAME:
            end = self._span(node.func)[1]
            self._put(node.func, "other call", _OTHER_NAME[name], (end - len(name), end))
        if name == "sorted":
            self._put(node, "order reversed", f"list(reversed({self._text(node)}))")
        if name == "reversed" and node.args:
            self._put(node, "order kept", f"list({self._text(node.args[0])})")
        plain = [one for one in node.args if isinstance(one, ast.Name | ast.Attribute)]
        if len(node.args) == 2 and len(plain) == 2:
            first, second = (self._text(one) for one in node.args)
            span = (self._span(node.args[0])[0], self._span(node.args[1])[1])
            self._put(node, "arguments exchanged", f"{second}, {first}", span)

    def _without(self, node: ast.Call, keyword: ast.keyword) -> None:
        start, end = self._span(keyword)
        before = self._source[:start].rstrip()
        if before.endswith(b","):
            start = len(before) - 1
        self._put(keyword.value, "argument dropped", "", (start, end))

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Call):
            self._put(node, "statement dropped", "pass")
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        if not isinstance(node.value, ast.JoinedStr):
            self._put(node, "statement dropped", "pass")
        self.visit(node.value)

    def visit_Continue(self, node: ast.Continue) -> None:
        self._put(node, "statement dropped", "pass")

    def visit_Slice(self, node: ast.Slice) -> None:
        self.generic_visit(node)
