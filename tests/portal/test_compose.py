"""docker-compose.yml cannot be run by the tests; what it says can be held against what house mode asks for."""

import subprocess

import pytest
import yaml

from tests.portal.test_modes import HOUSE_NEEDS
from tests.servers import ROOT

COMPOSE = yaml.safe_load((ROOT / "docker-compose.yml").read_text())


@pytest.mark.parametrize("service", ["web", "worker", "sweep"])
def test_each_of_our_services_is_given_every_name_that_house_mode_needs(service):
    names = COMPOSE["services"][service]["environment"]
    assert set(HOUSE_NEEDS) <= set(names)
    assert names["ROUGHPROOF_MODE"] == "house"


def test_no_secret_is_written_into_the_file():
    for service in COMPOSE["services"].values():
        for name, value in service.get("environment", {}).items():
            if any(word in name for word in ("SECRET", "PASSWORD")):
                assert str(value).startswith("${"), name


def test_nothing_but_the_web_is_reachable_and_that_from_this_machine_only():
    ports = {name: service["ports"] for name, service in COMPOSE["services"].items() if "ports" in service}
    assert ports == {"web": ["127.0.0.1:8000:8000"]}


@pytest.mark.parametrize("script", [".ci/run", ".ci/check"])
def test_check_scripts_are_valid_shell(script):
    assert subprocess.run(["bash", "-n", ROOT / script], check=False).returncode == 0
    assert (ROOT / script).stat().st_mode & 0o111
