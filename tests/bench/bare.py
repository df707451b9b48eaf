"""The yardstick: a bare Flask route that does one durable INSERT, or sixteen in one commit."""

from __future__ import annotations

import os
import sqlite3
import threading
from pathlib import Path

from flask import Flask, jsonify, request
from flask.typing import ResponseReturnValue

app = Flask("bare")
PATH = Path(os.environ.get("HOMEPROG_INSTANCE", ".")) / "bare.sqlite3"
PRAGMAS = ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "busy_timeout = 10000")
own = threading.local()


def opened() -> sqlite3.Connection:
    """One connection a thread, as durable as the house's."""
    if not hasattr(own, "connection"):
        own.connection = sqlite3.connect(PATH, isolation_level=None)
        for pragma in PRAGMAS:
            own.connection.execute(f"PRAGMA {pragma}")
        own.connection.execute("CREATE TABLE IF NOT EXISTS bout (id TEXT PRIMARY KEY, body TEXT)")
    connection: sqlite3.Connection = own.connection
    return connection


@app.get("/healthz")
def healthz() -> ResponseReturnValue:
    opened()
    return jsonify(status="ok")


@app.post("/rows")
def rows() -> ResponseReturnValue:
    """Insert each item of the body; one commit."""
    connection = opened()
    items = request.get_json()["items"]
    connection.execute("BEGIN IMMEDIATE")
    for item in items:
        connection.execute("INSERT INTO bout VALUES (?, ?)", (item["id"], str(item)))
    connection.execute("COMMIT")
    return jsonify(stored=len(items))
