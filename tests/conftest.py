"""What every test shares: fixtures from plugins, Hypothesis profiles, and Kivy kept from taking over the process."""

import os
from pathlib import Path

from hypothesis import HealthCheck, settings

pytest_plugins = ["tests.postgres"]

# Kivy reads these when it is first imported. Without them it takes pytest's arguments for its own, writes into the
# home directory, and replaces the root logger's handlers.
os.environ.setdefault("KIVY_NO_ARGS", "1")
os.environ.setdefault("KIVY_NO_CONFIG", "1")
os.environ.setdefault("KIVY_NO_FILELOG", "1")
os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")

# Every server here speaks plain HTTP, but httpx would read the certificates of the whole world for each client: half of the
# time of some tests. In this folder there are none.
os.environ["SSL_CERT_DIR"] = str(Path(__file__).parent)
os.environ.pop("SSL_CERT_FILE", None)

# No example fails for being slow: machines differ, and time is measured in tests/bench.
settings.register_profile("local", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("ci", parent=settings.get_profile("local"), derandomize=True, print_blob=True, max_examples=50)
settings.register_profile("thorough", parent=settings.get_profile("local"), max_examples=2_000)
settings.load_profile("ci" if os.environ.get("CI") else "local")
