"""Flask extensions, made once and bound to the app in factory."""

from __future__ import annotations

from flask_limiter import Limiter
from flask_limiter.util import get_remote_address
from flask_login import LoginManager
from flask_migrate import Migrate
from flask_sqlalchemy import SQLAlchemy
from flask_wtf import CSRFProtect

from .storage.base import Base

db = SQLAlchemy(metadata=Base.metadata)  # our models keep their own typed base
migrate = Migrate()
csrf = CSRFProtect()
login = LoginManager()
limiter = Limiter(get_remote_address)
