"""Which readings belong to the same board.

The rules are those of the trade: a reading belongs to the board as it was, before or
after a part was lifted, fitted, or power was applied.
"""

from _bench_logs import first, read

from ohmtrail.netanalysis.diagnosis.epochs import timeline

READ = ",measure,,resistance,VMAIN,GND,{},"
HAND = ",measure,Q12,resistance,Q12.5,Q12.1,{},"


def placed(*rows):
    return timeline(read(*rows).events)


def test_a_lift_separates_readings():
    time = placed(READ.format(1), READ.format(2), ",lift,Q12,,,,,", READ.format(3))
    one, two, lift, three = time.placed
    assert one.epoch == two.epoch == lift.epoch
    assert three.epoch != one.epoch
    assert (one.epoch.lifted, three.epoch.lifted) == (frozenset(), {"Q12"})
    assert lift.after == three.epoch == time.now
    assert [p.event.line for p in time.during(one.epoch)] == [2, 3, 4]
    assert [e.line for e in time.between(one.epoch, three.epoch)] == [4]
    assert time.between(one.epoch, two.epoch) == ()


def test_looking_and_measuring_change_nothing():
    time = placed(",look,Q12,,,,burnt,", READ.format(1), READ.format("n/a"))
    assert len(time.epochs) == 1


def test_power_separates_readings_of_the_same_parts():
    time = placed(READ.format(1), ",power,,,VIN,GND,dead,", READ.format(1))
    before, _, after = (one.epoch for one in time.placed)
    assert before.same_parts(after)
    assert before != after
    assert (before.powered, after.powered) == (0, 1)
    assert [event.action for event in time.between(after, before)] == ["power"]


def test_the_same_part_back_is_the_same_board_again():
    time = placed(READ.format(1), ",lift,Q12,,,,,", ",fit,Q12,,,,same,", READ.format(1))
    assert time.placed[0].epoch.same_parts(time.now)
    assert [e.action for e in time.between(time.epochs[0], time.now)] == ["lift", "fit"]


def test_a_new_part_is_another_board():
    time = placed(READ.format(1), ",lift,Q12,,,,,", ",fit,Q12,,,,new,")
    assert not time.placed[0].epoch.same_parts(time.now)
    assert time.now.off == frozenset()
    assert (time.now.piece("Q12"), time.now.piece("Q13")) == (1, 0)


def test_the_part_in_the_hand_is_the_one_that_came_off():
    time = placed(
        ",lift,Q12,,,,,", HAND.format("0.7"), ",fit,Q12,,,,new,",
        HAND.format("0.7"), ",lift,Q12,,,,,", HAND.format("OL"),
    )  # fmt: skip
    pieces = [one.piece for one in time.placed]
    assert pieces == [0, 0, 1, 0, 1, 1]


def test_a_new_part_without_a_word_of_the_old_one():
    time = placed(",fit,Q12,,,,new,", HAND.format("0.7"))
    assert time.now.piece("Q12") == 1
    assert time.placed[1].piece == 0


def test_a_missing_part_was_missing_all_along():
    time = placed(READ.format(1), ",look,Q12,,,,missing,", ",fit,Q12,,,,new,")
    assert [one.epoch.off for one in time.placed] == [{"Q12"}] * 3
    assert time.now.off == frozenset()


def test_a_part_found_missing_after_it_was_fitted_fell_off():
    time = placed(
        ",lift,Q12,,,,,", ",fit,Q12,,,,same,", READ.format(1), ",look,Q12,,,,missing,"
    )
    assert time.placed[2].epoch.off == frozenset()
    assert time.now.off == {"Q12"}
    assert len(time.epochs) == 4


def test_a_drop_belongs_to_the_injection_that_is_on():
    time = placed(
        ",inject,,,VMAIN,GND,0.8V 2.1A,",
        ",measure,,drop,Q12.5,J1.2,0.004,",
        ",inject,,,VMAIN,GND,0.9V 3A,",
        ",measure,,drop,Q12.5,J1.2,0.006,",
        READ.format(1),
        ",measure,,drop,Q12.5,J1.2,0.006,",
    )
    on = [one.injection.amps if one.injection else None for one in time.placed]
    assert on == [None, 2.1, None, 3.0, None, None]
    assert time.now.injected == 2


def test_a_log_without_rows_is_the_board_as_it_came():
    time = placed()
    assert time.placed == ()
    assert time.now == time.epochs[0]
    assert time.now.off == frozenset()


def test_of_finds_a_row():
    time = placed(READ.format(1), ",lift,Q12,,,,,")
    assert time.of(3).event == first(READ.format(1), ",lift,Q12,,,,,")
