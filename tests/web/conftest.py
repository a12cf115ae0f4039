import pytest
from django.core.management import call_command


@pytest.fixture(scope="session", autouse=True)
def static_files() -> None:
    """Pages find their style sheets."""
    call_command("collectstatic", verbosity=0, interactive=False)
