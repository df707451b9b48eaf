"""Thin routes: schema in, one service call, schema out."""

from flask import Flask

from . import (
    alert_figures,
    alert_settings,
    alerts,
    api,
    caseload,
    clinic,
    courses,
    demo,
    errors,
    few_logged,
    figures,
    headers,
    health,
    languages,
    measures,
    packed,
    patients,
    phone_shell,
    regimes,
    review,
    sheet,
    sign_in,
    staff,
    staff_push,
    templates,
)


def register_routes(app: Flask) -> None:
    """Every blueprint, the error pages and the headers."""
    headers.register(app)
    packed.register(app)
    api.register(app)  # flask-smorest: the JSON under /api/v1 and its OpenAPI description
    for module in (
        sign_in, clinic, patients, courses, regimes, templates, caseload, review, measures, alerts,
        staff, phone_shell, health, demo, alert_settings, staff_push, alert_figures,
        few_logged, languages, figures, sheet,
    ):  # fmt: skip
        app.register_blueprint(module.bp)
    errors.register(app)  # after smorest's own handlers, which it replaces
