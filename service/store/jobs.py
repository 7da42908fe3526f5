"""The queue of PostgreSQL: procrastinate's tables beside ours, and jobs put in by our own transactions.

A job is a call of its SQL function, made on the connection that keeps the batch. So batch and jobs
are kept together or not at all, and no second connection can fail between the two.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Integer, Text, bindparam, cast, column, func, null, select, table
from sqlalchemy.dialects.postgresql import JSONB
from sqlalchemy.types import UserDefinedType

from service.store.scope import Scope, across_accounts, scoped
from service.store.tables import batch, batch_chunk

QUEUE, TASK = "batches", "litrewise.chunk"
TABLES = ("events", "periodic_defers", "jobs", "workers")
_TYPES = ("job_to_defer_v1", "job_event_type", "job_status")
_FUNCTIONS = (
    "SELECT 'DROP FUNCTION ' || oid::regprocedure || ' CASCADE' FROM pg_proc "
    "WHERE pronamespace = current_schema()::regnamespace AND proname LIKE 'procrastinate\\_%'"
)


class _Job(UserDefinedType[Any]):
    """The type of a row that the queue's function takes."""

    cache_ok = True

    def get_col_spec(self, **_: Any) -> str:
        return "procrastinate_job_to_defer_v1"


def _deferring() -> Any:
    """One job for each chunk in a range of numbers.

    The later a chunk, the lower its job: batches take turns, and a batch of one chunk waits only
    for chunks that are being worked on.
    """
    numbers = (
        func.generate_series(bindparam("first", type_=Integer), bindparam("last", type_=Integer))
        .table_valued(column("n", Integer), name="numbers")
        .render_derived()
    )
    number = numbers.c.n
    arguments = func.jsonb_build_object(
        "account_id", bindparam("owner", type_=Text), "batch_id", bindparam("batch", type_=Text),
        "number", number,
    )  # fmt: skip
    job = cast(func.row(QUEUE, TASK, -number, null(), null(), arguments, null()), _Job())
    return scoped(select(func.procrastinate_defer_jobs_v1(func.array_agg(job))).select_from(numbers))


_DEFERRING = _deferring()


def put_in(scope: Scope, batch_id: str, numbers: range) -> None:
    """A job for each of some chunks of a batch, kept with the scope's transaction."""
    if numbers:
        scope.run(_DEFERRING, first=numbers[0], last=numbers[-1], owner=scope.account_id, batch=batch_id)


def _without() -> Any:
    jobs = table("procrastinate_jobs", column("status"), column("task_name"), column("args", JSONB))
    live = (
        select(jobs.c.args["batch_id"].astext.label("batch_id"),
               cast(jobs.c.args["number"].astext, Integer).label("number"))
        .where(jobs.c.task_name == TASK, cast(jobs.c.status, Text).in_(("todo", "doing")))
        .subquery()
    )  # fmt: skip
    _k, _b = batch_chunk.c, batch.c
    return across_accounts(
        select(_k.account_id, _k.batch_id, _k.number)
        .join_from(batch_chunk, batch, (_b.account_id == _k.account_id) & (_b.id == _k.batch_id))
        .outerjoin(live, (live.c.batch_id == _k.batch_id) & (live.c.number == _k.number))
        .where(_b.state.in_(("waiting", "running", "stopped")), _k.state != "done", live.c.number.is_(None))
        .order_by(_k.number)
        .limit(1000)
    )


_WITHOUT = _without()


def put_back(connection: Connection) -> int:
    """Jobs for chunks that have lost theirs, as after a copy from another database; how many."""
    missing = connection.execute(_WITHOUT).all()
    for row in missing:
        put_in(Scope(connection, row.account_id), row.batch_id, range(row.number, row.number + 1))
    return len(missing)


def queue_up(connection: Connection) -> None:
    """Make the queue's tables and functions, as its library brings them."""
    from procrastinate.schema import SchemaManager

    # Several statements in one text go only straight to the driver.
    driver: Any = connection.connection.driver_connection
    driver.execute(SchemaManager.get_schema())


def queue_down(connection: Connection) -> None:
    """Take them out again, all that is in them too."""
    for name in TABLES:
        connection.exec_driver_sql(f"DROP TABLE procrastinate_{name} CASCADE")
    for statement in connection.exec_driver_sql(_FUNCTIONS.replace("%", "%%")).scalars().all():
        connection.exec_driver_sql(statement)
    for name in _TYPES:
        connection.exec_driver_sql(f"DROP TYPE procrastinate_{name}")
