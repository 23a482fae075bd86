from valuation.access.throttle import Throttle


def tried(throttle: Throttle, caller: str, times: int, now: float = 0.0) -> None:
    for _ in range(times):
        throttle.count(caller, now)


def test_who_tries_too_often_waits_and_nobody_else():
    throttle = Throttle(tries=3, of_all=100, seconds=60)
    tried(throttle, "one", 2)
    assert not throttle.blocks("one", 1.0)
    tried(throttle, "one", 1)
    assert throttle.blocks("one", 1.0)
    assert not throttle.blocks("two", 1.0)
    assert not throttle.blocks("one", 60.0)


def test_all_together_may_not_try_without_end_either():
    throttle = Throttle(tries=3, of_all=10, seconds=60)
    for number in range(10):
        tried(throttle, str(number), 1)
    assert throttle.blocks("another", 1.0)
    assert not throttle.blocks("another", 61.0)


def test_only_so_many_callers_are_remembered():
    throttle = Throttle(of_all=10**9)
    for number in range(12_000):
        throttle.count(str(number), 0.0)
    assert len(throttle._made) <= 10_000
