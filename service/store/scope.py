"""The one mechanism that keeps an account's rows from every other account.

A statement about tables of accounts runs only after `scoped` has looked at it: every such
table in it must be held to `account_id = :account` by a condition that nothing can loosen.
A scope gives that parameter itself. A statement that was not looked at, and any raw SQL
text, is refused before it reaches the database. What looks across accounts on purpose (a
key that is looked up, a backup) says so with `across_accounts`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, TypeVar

from sqlalchemy import (
    Alias,
    BinaryExpression,
    BindParameter,
    Column,
    Connection,
    CursorResult,
    Delete,
    Executable,
    Insert,
    Join,
    Select,
    Table,
    TableClause,
    TextClause,
    Update,
    bindparam,
    event,
)
from sqlalchemy.sql import operators, visitors
from sqlalchemy.sql.elements import BooleanClauseList, ColumnElement, Grouping

from service.store.tables import OF_ACCOUNT

ACCOUNT = "account"
_CLEARED = "cleared"
S = TypeVar("S", bound=Executable)


class Unscoped(Exception):
    """A statement that could reach rows of another account: a fault of the program."""


def mine(*tables: Table) -> tuple[ColumnElement[bool], ...]:
    """The conditions that hold tables to the scope's account."""
    return tuple(table.c.account_id == bindparam(ACCOUNT, type_=table.c.account_id.type) for table in tables)


def scoped(statement: S) -> S:
    """The statement, cleared for a scope; Unscoped when it could reach another account's rows."""
    loose = set()
    for part in visitors.iterate(statement):  # type: ignore[arg-type]
        _no_raw_sql(part)
        if isinstance(part, Select | Update | Delete):
            held = _held(part.whereclause)
            loose |= {_name(table) for table in _own_tables(part) if table not in held}
    if loose or isinstance(statement, Insert):
        names = ", ".join(sorted(loose)) or "what it adds"
        raise Unscoped(f"the statement does not hold {names} to one account: {statement}")
    return statement.execution_options(**{_CLEARED: True})


def across_accounts(statement: S) -> S:
    """The statement, cleared to look at every account; for looking up keys and for the operator."""
    return statement.execution_options(**{_CLEARED: True})


def guard(engine: Any) -> None:
    """Refuse, on every connection of an engine, what was not cleared."""

    @event.listens_for(engine, "before_execute")
    def _look(connection: Connection, statement: Any, many: Any, values: Any, options: Any) -> None:
        if options.get(_CLEARED) or statement.get_execution_options().get(_CLEARED):
            return
        for part in visitors.iterate(statement):
            _no_raw_sql(part)
        loose = {table.name for table in _tables(statement)}
        if loose:
            raise Unscoped(f"the statement on {', '.join(sorted(loose))} was not cleared by `scoped`")


class Scope:
    """A transaction within one account."""

    def __init__(self, connection: Connection, account_id: str) -> None:
        self._connection = connection
        self.account_id = account_id
        self.sqlite = connection.dialect.name == "sqlite"

    def run(self, statement: Executable, /, **values: Any) -> CursorResult[Any]:
        """Run a cleared statement with the account's id beside its own values."""
        if not statement.get_execution_options().get(_CLEARED):
            statement = scoped(statement)
        return self._connection.execute(statement, {**values, ACCOUNT: self.account_id})

    def run_each(self, statement: Executable, rows: Sequence[dict[str, Any]]) -> None:
        """Run a cleared statement once for each set of values."""
        if not statement.get_execution_options().get(_CLEARED):
            statement = scoped(statement)
        if rows:
            self._connection.execute(statement, [{**row, ACCOUNT: self.account_id} for row in rows])

    def add(self, table: Table, rows: Sequence[dict[str, Any]]) -> None:
        """Add rows to a table of accounts; the account is the scope's, whatever the rows say."""
        if rows:
            owned = [{**row, "account_id": self.account_id} for row in rows]
            self._connection.execute(across_accounts(table.insert()), owned)


def _no_raw_sql(part: Any) -> None:
    """Text in a statement could name any table, so nothing can be said of what it reaches."""
    # `count` has a literal star in it.
    if isinstance(part, TextClause) or (getattr(part, "is_literal", False) and part.name != "*"):
        raise Unscoped("raw SQL is not run here; build the statement from tables")


def _own_tables(statement: Any) -> set[Any]:
    """Tables of accounts, or other names for them, that a statement itself reads or changes."""
    sources = statement.get_final_froms() if isinstance(statement, Select) else [statement.table]
    found = set()
    for source in sources:
        # A query in brackets is looked at by itself.
        stack = [source]
        while stack:
            part = stack.pop()
            if isinstance(part, Join):
                stack += [part.left, part.right]
            elif _name(part) in _NAMES:
                found.add(part)
    return found


def _name(source: Any) -> str:
    """The name of the table behind a source; nothing for a query."""
    behind = source.element if isinstance(source, Alias) else source
    return behind.name if isinstance(behind, TableClause) else ""


def _is_account(value: Any) -> bool:
    return isinstance(value, BindParameter) and value.key == ACCOUNT


def _held(condition: Any) -> set[Any]:
    """Tables that the conditions which must all hold keep to the account."""
    found: set[Any] = set()
    for part in _all_of(condition):
        if isinstance(part, BinaryExpression) and part.operator is operators.eq:
            left, right = part.left, part.right
            if isinstance(left, Column) and left.name == "account_id" and _is_account(right):
                found.add(left.table)
    return found


def _all_of(condition: Any) -> Iterator[Any]:
    if isinstance(condition, Grouping):
        yield from _all_of(condition.element)
    elif isinstance(condition, BooleanClauseList) and condition.operator is operators.and_:
        for part in condition.clauses:
            yield from _all_of(part)
    else:
        yield condition


_NAMES = {table.name for table in OF_ACCOUNT}


def _tables(statement: Any) -> set[TableClause]:
    """Tables of accounts that a statement reads or writes, however deep, under their own or another name."""
    found: set[TableClause] = set()
    for part in visitors.iterate(statement):
        for table in (part, getattr(part, "table", None)):
            if isinstance(table, TableClause) and table.name in _NAMES:
                found.add(table)
    return found
