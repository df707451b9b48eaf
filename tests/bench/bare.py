"""The yardstick: a bare Flask route that does one durable INSERT, or sixteen in one commit.

It stands on what the house stands on: Flask, Flask-SQLAlchemy, and SQLite opened as the house
opens it, its writers taking turns too. It reads the body, inserts each item as one row with its
id and its text by one statement (sixteen by one executemany), commits, and answers how many: no
one is signed in, nothing is checked, looked up or worked out. What is over that is ours.
"""

from __future__ import annotations

import os
from pathlib import Path

from flask import Flask, jsonify, request
from flask.typing import ResponseReturnValue
from flask_sqlalchemy import SQLAlchemy
from sqlalchemy import insert
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from homeprog.storage.engine import set_up


class Base(DeclarativeBase):
    pass


class Row(Base):
    __tablename__ = "bare"
    id: Mapped[str] = mapped_column(primary_key=True)
    body: Mapped[str]


app = Flask("bare")
path = Path(os.environ.get("HOMEPROG_INSTANCE", ".")).resolve() / "bare.sqlite3"
app.config["SQLALCHEMY_DATABASE_URI"] = f"sqlite:///{path}"
db = SQLAlchemy(app, metadata=Base.metadata)
with app.app_context():
    set_up(db.engine)
    db.create_all()


@app.get("/healthz")
def healthz() -> ResponseReturnValue:
    return jsonify(status="ok")


@app.post("/rows")
def rows() -> ResponseReturnValue:
    """Insert each item of the body; one commit."""
    items = request.get_json()["items"]
    db.session.execute(insert(Row), [{"id": each["id"], "body": str(each)} for each in items])
    db.session.commit()
    return jsonify(stored=len(items))
