from dataclasses import replace

import numpy as np
import pytest

from decaljobs.craft.colour import GOOD_MATCH, ciede2000, lab_from_srgb
from decaljobs.craft.colourtrial import (
    OUTSIDE,
    first_round,
    forecast,
    next_round,
    pooled,
    sheet_of,
)
from decaljobs.craft.trial.eye import EyeAnswer
from decaljobs.craft.trial.records import PhotoAnswer, PrintSettings
from decaljobs.craft.trial.rounds import share_of_ball

PAPER = PrintSettings("desk printer", "paper", "best", "no matching")
FILM = replace(PAPER, material="film")
START = (96, 108, 92)
PAINT = np.array([49.0, -9.0, 14.0])


def printed(rgb) -> np.ndarray:
    """A made-up printer: bent tones and a leak between the channels."""
    share = (np.asarray(rgb, dtype=float) / 255) ** 1.15
    mixed = share @ np.array([[0.93, 0.04, 0.03], [0.05, 0.90, 0.05], [0.02, 0.05, 0.93]])
    return lab_from_srgb(255 * (0.05 + 0.92 * mixed))


def by_eye(one):
    apart = ciede2000(printed(one.colours), PAINT)
    best, second, third = (int(place) + 1 for place in np.argsort(apart)[:3])
    return replace(one, eye=EyeAnswer((best, second, third)))


def by_photo(one, haze=0.0):
    off = printed(one.colours) - PAINT - [haze, 0.0, 0.0]
    rows = tuple((float(light), float(a), float(b)) for light, a, b in off)
    paint = (PAINT[0] + haze, PAINT[1], PAINT[2])
    return replace(one, photo=PhotoAnswer(rows, (True,) * len(rows), paint))


def off_after(rounds) -> float:
    return float(ciede2000(printed(np.array(forecast(rounds).rgb)), PAINT))


def run(answers, settings=PAPER):
    rounds, one = [], first_round(START, settings)
    for answer in answers:
        rounds.append(answer(one))
        one = next_round(rounds, settings)
    return rounds, one


def test_it_homes_in_by_eye():
    rounds, _ = run([by_eye] * 3)
    radii = [one.radius for one in rounds]
    assert radii == sorted(radii, reverse=True)
    assert (radii[0], radii[-1]) == (14.0, 3.0)
    assert off_after(rounds) < 1.2
    assert forecast(rounds).found
    assert not forecast(rounds[:1]).found


def test_it_homes_in_by_photo():
    rounds, _ = run([by_photo] * 2)
    assert off_after(rounds) < 0.8
    assert forecast(rounds).by == "photo"
    assert forecast(rounds).expected < GOOD_MATCH


def test_it_lets_the_eye_have_the_last_word():
    rounds, _ = run([by_photo, lambda one: by_eye(by_photo(one))])
    assert forecast(rounds).by == "eye"


def test_it_prints_a_film_strip_of_24_around_the_winner():
    rounds, _ = run([by_eye] * 3)
    strip = next_round(rounds, FILM)
    assert (len(strip.colours), strip.number, strip.radius) == (24, 4, 5.0)
    assert strip.centre == pytest.approx(forecast(rounds).lab)
    again = next_round([*rounds, by_eye(strip)], FILM)
    assert (len(again.colours), again.radius) == (24, 3.0)


def test_it_never_calls_a_match_on_paper_final():
    rounds, _ = run([by_eye] * 3)
    assert forecast(rounds).found and not forecast(rounds).final
    for _ in range(2):
        rounds.append(by_eye(next_round(rounds, FILM)))
    assert forecast(rounds).found and forecast(rounds).final


def test_it_counts_no_rounds_of_other_settings_and_says_so():
    rounds, _ = run([by_photo] * 2)
    other = replace(PAPER, quality="draft")
    third = next_round(rounds, other)
    assert third.radius == 14.0
    rounds.append(by_photo(third))
    assert [one.number for one in pooled(rounds)] == [3]
    assert forecast(rounds).remarks == ("rounds 1, 2 had other print settings and count no more",)


def test_it_goes_on_less_wide_when_it_returns_to_settings_used_before():
    rounds, _ = run([by_eye])
    rounds.append(by_eye(next_round(rounds, FILM)))
    assert next_round(rounds, PAPER).radius == 6.0


def test_it_keeps_the_ball_wide_when_the_answer_lies_at_the_rim():
    one = first_round((200, 40, 40), PAPER)
    rounds = [by_eye(one)]
    ahead = forecast(rounds)
    assert ahead.far > 0.7
    assert next_round(rounds, PAPER).radius == pytest.approx(0.8 * 14.0)


VIVID = np.array([50.0, 70.0, -90.0])


def towards_vivid(answers):
    """Rounds answered by photo, the last also or only by eye where asked."""
    rounds, one = [], first_round((70, 60, 230), PAPER)
    for answer in answers:
        off = printed(one.colours) - VIVID
        rows = tuple((float(light), float(a), float(b)) for light, a, b in off)
        photo = PhotoAnswer(rows, (True,) * len(rows), tuple(float(value) for value in VIVID))
        best = np.argsort(ciede2000(printed(one.colours), VIVID))[:3]
        eye = EyeAnswer(tuple(int(place) + 1 for place in best))
        rounds.append(replace(one, photo=photo) if answer == "photo" else replace(one, eye=eye))
        one = next_round(rounds, PAPER)
    return forecast(rounds)


@pytest.mark.parametrize("answers", [["photo"] * 2, ["photo", "photo", "eye"]])
def test_it_says_the_limit_of_a_paint_out_of_reach(answers):
    ahead = towards_vivid(answers)
    steps = np.linspace(0, 255, 18)
    cube = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    truth = float(ciede2000(printed(cube), VIVID).min())
    assert truth > 3
    assert ahead.edge and ahead.found
    assert ahead.limit == pytest.approx(truth, abs=1.0)


def test_photos_of_a_paint_within_reach_leave_the_eye_no_limit():
    rounds, third = run([by_photo] * 2)
    ahead = forecast([*rounds, by_eye(third)])
    assert (ahead.by, ahead.edge, ahead.limit) == ("eye", False, None)


def test_it_suspects_the_limit_by_eye_and_asks_for_a_photo():
    one = replace(first_round((0, 0, 250), PAPER), radius=3.0)
    rounds = [replace(one, eye=EyeAnswer((1, 2, 3), ("weaker", "redder")))]
    ahead = forecast(rounds)
    assert ahead.edge
    assert ahead.limit is None
    assert any("a photo of the round measures it" in remark for remark in ahead.remarks)


def test_it_doubts_a_photo_that_quarrels_with_the_one_before():
    rounds, second = run([by_photo])
    calm = forecast([*rounds, by_photo(second)])
    hazy = forecast([*rounds, by_photo(second, haze=7.0)])
    assert calm.remarks == ()
    assert any("differs from the one before" in remark for remark in hazy.remarks)
    assert calm.found and not hazy.found


def test_it_wants_another_round_after_a_doubtful_photo():
    rounds, second = run([by_photo])
    plain = by_photo(second)
    doubtful = replace(
        plain, photo=replace(plain.photo, doubtful=True, remarks=("a faint reflection",))
    )
    sure, unsure = forecast([*rounds, plain]), forecast([*rounds, doubtful])
    assert unsure.expected == pytest.approx(sure.expected + 1.0)
    assert sure.found and not unsure.found
    assert unsure.remarks == ("a faint reflection",)


def test_it_says_that_a_colour_outside_the_patches_is_only_guessed():
    near, far = first_round(START, PAPER), first_round((20, 20, 90), PAPER)
    assert OUTSIDE not in forecast([by_photo(near)]).remarks
    ahead = forecast([by_photo(far)])
    assert ahead.far > 1.5
    assert OUTSIDE in ahead.remarks


def test_no_limit_is_told_from_a_guess_or_from_a_doubtful_photo():
    one = first_round((70, 60, 230), PAPER)
    off = printed(one.colours) - VIVID
    rows = tuple((float(light), float(a), float(b)) for light, a, b in off)
    paint = (float(VIVID[0]), float(VIVID[1]), float(VIVID[2]))
    plain = replace(one, photo=PhotoAnswer(rows, (True,) * len(rows), paint))
    assert forecast([plain]).edge
    assert not forecast([replace(plain, photo=replace(plain.photo, doubtful=True))]).edge
    assert not forecast([replace(plain, radius=3.0)]).edge


def test_it_starts_the_first_ball_taller_than_wide():
    one = first_round(START, PAPER)
    moves = lab_from_srgb(one.colours) - np.array(one.centre)
    assert max(share_of_ball(move, one.centre, 14.0) for move in moves) > 1.2
    assert one.colours[0] == START


def test_it_numbers_the_sheets_after_trial_and_round():
    rounds, third = run([by_eye] * 2)
    assert str(sheet_of(12, third).code) == "T12 R3"
    assert len(sheet_of(12, next_round(rounds, FILM)).colours) == 24


def test_it_wants_an_answer_before_it_goes_on():
    with pytest.raises(ValueError, match="not answered"):
        next_round([first_round(START, PAPER)], PAPER)
    with pytest.raises(ValueError, match="first round"):
        forecast([])


def test_it_refuses_answers_that_do_not_fit_the_round():
    one = first_round(START, PAPER)
    with pytest.raises(ValueError, match="patches 1 to 40, not 41"):
        replace(one, eye=EyeAnswer((1, 2, 41)))
    with pytest.raises(ValueError, match="from 1, not 0"):
        replace(one, eye=EyeAnswer((0, 1, 2)))
    with pytest.raises(ValueError, match="the photo answers 1 patch"):
        replace(one, photo=PhotoAnswer(((0.0, 0.0, 0.0),), (True,), (50.0, 0.0, 0.0)))
    with pytest.raises(ValueError, match="paper or film"):
        PrintSettings("desk printer", "card")
