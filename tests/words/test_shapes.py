from ownmark.words.shapes import is_list, is_object


def test_an_object_is_a_dict_and_nothing_that_only_holds_pairs():
    assert all(map(is_object, ({}, {"a": 1})))
    assert not any(map(is_object, ([], [("a", 1)], "a", None)))


def test_a_list_is_a_list_or_a_tuple_but_no_text_and_no_object():
    assert all(map(is_list, ([], (), (1, 2))))
    assert not any(map(is_list, ("ab", b"ab", {"a": 1}, {1}, None)))
