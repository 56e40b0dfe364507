"""The declarative base that every concept's rows stand on."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import BigInteger, Date, LargeBinary, MetaData, Text
from sqlalchemy.orm import DeclarativeBase, MappedAsDataclass

from gradewright.db.types import ExactDecimal, UtcInstant

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(MappedAsDataclass, DeclarativeBase, kw_only=True):
    """Rows are dataclasses made by name; constraint names are the same on every database."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads it from the class
        str: Text(),
        int: BigInteger(),
        bytes: LargeBinary(),
        date: Date(),
        datetime: UtcInstant(),
        Decimal: ExactDecimal(),
    }
