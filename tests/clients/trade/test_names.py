import pytest

from clients.trade.names import holds_all, name_key


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ωmega Tea", "ωMEGA  tea"),
        ("ΟΔΟΣ", "οδος"),  # the small sigma at the end of a word has a form of its own
        ("ЁЖИК", "ёжик"),
        ("ŻÓŁĆ", "żółć"),
        ("Z\u0307o\u0301łc\u0301", "Żółć"),  # letter and accent typed apart
        ("ＡＢＣ工房", "abc工房"),  # full-width letters
    ],
)
def test_capitals_width_and_spacing_make_no_other_name(one, other):
    assert name_key(one) == name_key(other)


@pytest.mark.parametrize(("one", "other"), [("Żółć", "Zolc"), ("がま", "かま"), ("Ёж", "Еж")])
def test_another_letter_makes_another_name(one, other):
    assert name_key(one) != name_key(other)


@pytest.mark.parametrize(
    ("words", "text"),
    [
        ("", "Anybody"),
        ("omega", "Omega Tea Rooms"),
        ("ωMEGA", "Ωmega Tea Rooms"),
        ("ёжик ВОЙЛОЧНЫЙ", "Войлочный Ёжик"),
        ("zolc", "Żółć"),
        ("isik", "Emre Işık"),
        ("ilgin", "İğne Şapkalı ILGIN"),
        ("工房", "紙のきつね工房"),
    ],
)
def test_a_search_finds_names_in_any_script_however_typed(words, text):
    assert holds_all(words, text)


def test_a_search_wants_every_word_somewhere():
    assert holds_all("tea noor", "Ωmega Tea Rooms", "Noor Haddad")
    assert not holds_all("tea emre", "Ωmega Tea Rooms", "Noor Haddad")
