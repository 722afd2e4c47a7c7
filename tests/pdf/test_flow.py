import pytest

from decaljobs.pdf.flow import Block, draw_page, kept_whole, paginate


def block(height, **more):
    return Block(height, lambda pen, top: pen.append(top), **more)


def heights(pages):
    return [[each.height for each in page] for page in pages]


def test_it_fills_a_page_before_the_next():
    assert heights(paginate([block(40), block(60), block(1)], 100)) == [[40, 60], [1]]


def test_it_makes_one_page_of_nothing():
    assert paginate([], 100) == [[]]


def test_it_keeps_a_heading_with_what_follows():
    pages = paginate([block(60), block(10, with_next=True), block(40)], 100)
    assert heights(pages) == [[60], [10, 40]]


def test_it_lets_go_of_a_chain_that_no_page_could_hold():
    pages = paginate([block(50, with_next=True), block(70)], 100)
    assert heights(pages) == [[50], [70]]


def test_it_keeps_whole_what_a_page_can_hold():
    many = [block(30), block(40), block(20, gap=10)]
    assert heights(paginate([block(20), *kept_whole(many, 100)], 100)) == [[20], [30, 40, 20]]


def test_it_parts_what_no_page_can_hold_whole():
    many = [block(30), block(40), block(21, gap=10)]
    assert heights(paginate([block(20), *kept_whole(many, 100)], 100)) == [[20, 30, 40], [21]]


def test_it_leaves_out_a_gap_at_the_top_of_a_page():
    blocks = [block(90), block(95, gap=9)]
    pages = paginate(blocks, 100)
    assert heights(pages) == [[90], [95]]
    tops: list[float] = []
    draw_page(tops, pages[1], 20.0)
    assert tops == [20.0]


def test_it_counts_gaps_between_blocks():
    assert heights(paginate([block(45), block(50, gap=6)], 100)) == [[45], [50]]
    tops: list[float] = []
    draw_page(tops, [block(45), block(40, gap=6)], 20.0)
    assert tops == [20.0, 71.0]


def test_it_says_again_whose_rows_go_on():
    name = block(5)
    pages = paginate([block(90), block(20, again=name), block(20, again=name)], 100)
    assert heights(pages) == [[90], [5, 20, 20]]


def test_it_leaves_room_for_what_is_said_again():
    pages = paginate([block(90), block(60, again=block(5)), block(36)], 100)
    assert heights(pages) == [[90], [5, 60], [36]]


def test_it_refuses_a_block_that_no_page_can_hold():
    with pytest.raises(ValueError, match="does not fit in 100 mm"):
        paginate([block(101)], 100)
