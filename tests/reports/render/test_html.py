"""Pages as HTML: whole in one file, deaf to what people type, open to everyone, on a phone and in print."""

import itertools
import re
from urllib.parse import quote

import pytest
from ownmark.reports import palette
from ownmark.reports.page import Checklist, Heading, Page, Paragraph, Table, Tick
from ownmark.reports.render.html import to_html

from tests.outside.parts import AXE

from .. import pages_made as made

LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
KINDS = ("effort of a chair", "effort in Spanish", "change of sides", "card", "safety", "class", "district")
HOSTILE = (
    "<script>document.title='taken'</script>",
    "<img src=x onerror=\"document.title='taken'\">",
    '"><svg onload="document.title=\'taken\'">',
    "</style><b>bold</b>&lt;&amp;",
    "javascript:alert(1) #{x} $y$ _a_ *b* @c \\d",
)


def with_notes(*notes):
    """A page with a text wherever a text can stand."""
    return Page(
        notes[0],
        "en",
        notes[0],
        (
            *(Paragraph(note) for note in notes),
            Heading(notes[0]),
            Table(notes[0], notes[:2], (notes[:2],)),
            Checklist(notes[0], (Tick(notes[0], notes[1], notes[1]),)),
        ),
        notes,
    )


@pytest.mark.parametrize("name", made.NAMES)
def test_a_page_is_whole_in_itself_and_holds_no_address(name):
    html = to_html(made.every_page()[name]).decode()
    assert re.findall(r"(?i)https?:|//[a-z]|@import|<link|<script|<iframe|<base|url\((?!#)", html) == []
    assert re.findall(r"(?i)\s(?:src|srcset|action|on\w+)\s*=", html) == []
    beside = {quote(link) for block in made.every_page()[name].blocks for link in getattr(block, "links", ())}
    assert all(link.startswith("#") or link in beside for link in re.findall(r'href="([^"]*)"', html))


@pytest.mark.parametrize("name", made.NAMES)
def test_language_landmarks_and_headings_are_in_order(name):
    page = made.every_page()[name]
    tags = made.Seen(to_html(page)).tags
    assert next(attrs for tag, attrs in tags if tag == "html")["lang"] == page.language
    assert [tag for tag, _ in tags if tag in ("header", "main", "footer")] == ["header", "main", "footer"][
        : 3 if page.footer else 2
    ]
    levels = [int(tag[1]) for tag, _ in tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later <= earlier + 1 for earlier, later in itertools.pairwise(levels))


def test_every_text_of_a_page_stands_in_its_html():
    for name, page in made.every_page().items():
        text = made.Seen(to_html(page)).text
        unseen = {page.running, page.sheet_of, *(getattr(one, "name", "") for one in page.blocks)}
        unseen |= {getattr(one, "alt", "") for one in page.blocks} | {page.title}
        lines = [line for line in made.page_texts(page) if line not in unseen]
        assert len(lines) > 8
        assert [line for line in lines if " ".join(line.split()) not in text] == [], name


def test_what_people_type_is_shown_as_it_was_typed_and_never_run(shown):
    tab = shown(with_notes(*HOSTILE))
    assert tab.title() == HOSTILE[0]
    text = tab.inner_text("body")
    assert all(note in text for note in HOSTILE)
    assert tab.query_selector_all("script, img, b, svg") == []


def test_a_picture_inside_a_page_has_a_name_ids_of_its_own_and_no_leftovers():
    html = to_html(made.effort("crank")).decode()
    assert html.count('role="img"') == 2
    assert html.count('aria-label="A line that falls."') == 2
    ids = re.findall(r'\bid="([^"]+)"', html)
    assert len(ids) == len(set(ids)) == 6
    used = re.findall(r'(?:href="|url\()#([^")]+)', html)
    assert len(used) == 4
    assert set(used) <= set(ids)
    assert "metadata" not in html
    assert re.search(r"<style>#(picture|phone)\d+ \*", html)


def test_right_to_left_text_and_signs_beyond_the_alphabet_are_kept(shown):
    notes = ("كان متعبا بعد الاختبار", "היה עייף", "🦽 👩🏽‍🦽 went well", "x\u202e)evil(", "a\x00b\x1b[31mred")
    tab = shown(with_notes(*notes))
    text = tab.inner_text("main")
    assert all(note in text for note in notes[:3])
    assert "\u202e" not in text
    assert "ab[31mred" in text
    assert tab.evaluate("getComputedStyle(document.querySelectorAll('main p')[0]).direction") == "rtl"
    assert tab.evaluate("getComputedStyle(document.querySelectorAll('main p')[2]).direction") == "ltr"


@pytest.mark.parametrize("width", [320, 360, 1240])
def test_nothing_runs_over_the_edge_of_a_narrow_or_a_wide_screen(shown, width):
    # WCAG 2.2, 1.4.10: no scrolling to the side at 320 px.
    long = Page(
        "T" * 90, "en", "s" * 200, (Paragraph("x" * 3000), Table("c", ("a", "b" * 60), (("y" * 300, "z" * 300),)))
    )
    for page in (*(made.every_page()[name] for name in KINDS), long):
        assert shown(page, width).evaluate("document.documentElement.scrollWidth") <= width, page.title


def test_text_may_be_twice_as_large_without_loss(shown):
    # WCAG 2.2, 1.4.4: 200 % zoom halves the screen in CSS pixels.
    for page in (made.every_page()[name] for name in KINDS):
        tab = shown(page, 640)
        tab.add_style_tag(content="html { font-size: 200% !important }")
        assert tab.evaluate("document.documentElement.scrollWidth") <= 640, page.title
        cut = tab.evaluate(
            "[...document.querySelectorAll('main *:not(caption):not(thead):not(thead *)')]"
            ".filter(e => getComputedStyle(e).overflow === 'hidden' && e.scrollHeight > e.clientHeight + 1).length"
        )
        assert cut == 0, page.title


def test_a_narrow_screen_shows_the_narrow_picture_alone_and_names_each_cell(shown):
    for width, there, gone in ((1240, "for-paper", "for-phone"), (360, "for-phone", "for-paper")):
        tab = shown(made.effort("loose"), width)
        assert tab.is_visible(f"svg.{there}")
        assert not tab.is_visible(f"svg.{gone}")
    label = tab.evaluate("getComputedStyle(document.querySelector('table:not(.facts) td'), '::before').content")
    assert label == '"Value"'


def test_print_leaves_the_paper_white_and_needs_no_net(shown):
    tab = shown(made.effort("crank"))
    tab.emulate_media(media="print")
    assert tab.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgba(0, 0, 0, 0)"
    assert [url for url in tab.asked if not url.startswith("file:")] == []


def test_the_colours_are_those_whose_contrast_was_computed():
    html = to_html(made.effort("crank")).decode()
    style = html[html.index("<style>") : html.index("</style>")]
    used = set(re.findall(r"#[0-9a-f]{6}\b", style))
    assert used == {palette.PAPER, palette.INK, palette.QUIET, palette.HAIRLINE, palette.EDGE, palette.PLUM}


# Of what keeps a rule only the count comes back: to describe each of these parts takes longer than all else.
CHECK = """async (levels) => {
  const found = await axe.run(document, {
    runOnly: {type: 'tag', values: levels}, resultTypes: ['violations'], selectors: false});
  return {passes: found.passes.length, violations: found.violations.map(
    each => [each.id, each.nodes[0].html.slice(0, 120)])};
}"""


@pytest.mark.parametrize(("width", "names"), [(1240, KINDS), (360, KINDS[2:4])])
def test_the_rule_engine_finds_no_violation_of_wcag_2_2_a_or_aa(shown, width, names):
    rules = AXE.need().read_text(encoding="utf-8")
    for name in names:
        tab = shown(made.every_page()[name], width)
        tab.evaluate(rules)
        found = tab.evaluate(CHECK, LEVELS)
        assert found["violations"] == [], name
        assert found["passes"] >= 8


def test_the_rule_engine_would_find_what_is_wrong(shown):
    tab = shown(made.effort("crank"))
    tab.evaluate("document.querySelector('p.lead').style.color = '#c9c4bb'; document.documentElement.lang = ''")
    tab.evaluate(AXE.need().read_text(encoding="utf-8"))
    found = tab.evaluate(CHECK, LEVELS)
    assert {rule for rule, _ in found["violations"]} == {"color-contrast", "html-has-lang"}
