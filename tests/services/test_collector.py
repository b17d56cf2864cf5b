"""The garbage collector rests while rows are loaded, and works again afterwards, whatever happened meanwhile."""

from __future__ import annotations

import gc

import pytest

from register.services.collector import collector_at_rest


@pytest.fixture(autouse=True)
def on_again():
    gc.enable()
    yield
    gc.enable()


def test_it_rests_until_the_last_is_done():
    with collector_at_rest():
        with collector_at_rest():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled()


def test_it_works_again_after_a_failure():
    with pytest.raises(ValueError, match="broken"), collector_at_rest():
        raise ValueError("broken")
    assert gc.isenabled()


def test_whoever_had_switched_it_off_finds_it_off():
    gc.disable()
    with collector_at_rest():
        pass
    assert not gc.isenabled()
