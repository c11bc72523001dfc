"""The whole main job in a real browser: with a thumb, with the keyboard alone, without JavaScript."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.browser.conftest import DESK, Shown

PACKET = """INGREDIENTS: Wheat flour, sugr, butter, salt.
Nutrition Facts
Serving size 30 g
Calories 150
Total Fat 7g
Saturated Fat 4.5g
Sodium 100mg
Total Carbohydrate 20g
Dietary fiber <1g
Total Sugars 8g
Protein 2g"""
RECIPE = """Shore biscuits

200 g flour
80 g sugar
100 g butter
2 g salt

Mix, chill. Bake at 350 F for 12 minutes."""


def pasted(page: Page, text: str) -> None:
    page.get_by_label("Paste the packet's words").fill(text)
    page.get_by_role("button", name="See what it is made of").click()


def rebuild_of(page: Page) -> str:
    found = re.search(r"(.*/rebuilds/\d+)/", page.url)
    assert found, page.url
    return found[1]


def test_paste_a_packet_and_see_ranges(empty: Shown) -> None:
    page = empty.page("/")
    pasted(page, PACKET)
    page.wait_for_url("**/original")
    expect(page.locator("h1.sentence")).to_contain_text("flour")
    assert page.locator("#answer svg.range").count() >= 4
    assert "between" in str(page.locator("#answer svg.range").first.get_attribute("aria-label"))
    assert page.get_by_label("Fat, g", exact=True).first.input_value() == "7"  # the panel went into its fields
    assert page.get_by_label("Fibre, g").first.input_value() == "<1"
    page.get_by_text("As it was pasted").click()
    expect(page.locator(".pasted.small")).to_contain_text("Total Carbohydrate 20g")
    page.context.close()


def test_a_changed_label_is_answered_in_place(empty: Shown) -> None:
    page = empty.page("/")
    pasted(page, "Ingredients: wheat flour, sugar, butter.")
    page.wait_for_url("**/original")
    before = page.inner_text("h1.sentence")
    page.evaluate("""() => { window.seen = []; new MutationObserver(() => {
      window.seen.push(document.querySelectorAll('#answer .sentence').length); }).observe(
      document.getElementById('answer'), { childList: true, subtree: true }); }""")
    page.fill("#f-label-text", "Ingredients: sugar, wheat flour, butter, salt.")
    page.wait_for_function("(was) => document.querySelector('h1.sentence').innerText !== was", arg=before)
    assert page.locator("#answer .ranges summary", has_text="salt").count() == 1
    assert 0 not in page.evaluate("window.seen")  # at no moment was there no answer
    assert page.inner_text("#said") == page.inner_text("h1.sentence")  # told once, politely, not row by row
    assert "4 ingredients" in page.inner_text("#as-read summary >> nth=0")  # the list as read follows too
    page.context.close()


def test_a_guess_is_changed_in_its_row(empty: Shown) -> None:
    page = empty.page("/")
    pasted(page, "Ingredients: wheat flour, sugar, zzqqx.")
    page.wait_for_url("**/original")
    row = page.locator("#as-read li", has_text="zzqqx")
    row.locator("summary").click()
    row.get_by_label("Take it as").fill("butter")
    page.get_by_role("button", name="Keep and work it out").click()
    page.wait_for_load_state()
    expect(page.locator("#as-read li", has_text="zzqqx").locator("summary")).to_contain_text("butter")
    assert page.locator("#shelf option").count() > 500
    page.context.close()


def test_a_name_stays_as_printed(empty: Shown) -> None:
    page = empty.page("/")
    pasted(page, "Ingredients: wheat f1our, 5alt, sugar.")
    page.wait_for_url("**/original")
    page.get_by_role("button", name="“5alt” is right as printed").click()
    expect(page.locator("#as-read")).to_contain_text("“5alt” stays as printed")
    expect(page.locator("#as-read .list").last).to_contain_text("5alt")
    page.fill("#f-label-text", "Ingredients: wheat f1our, 5alt, sugar, butter.")  # read anew: it stays so
    page.get_by_role("button", name="Keep and work it out").click()
    page.wait_for_function("() => document.querySelector('#as-read summary')?.innerText.includes('4 ingredients, ')")
    expect(page.locator("#as-read")).to_contain_text("“wheat f1our” read as “wheat flour”")
    expect(page.locator("#as-read")).to_contain_text("“5alt” stays as printed")
    page.get_by_role("button", name="Mend “5alt” again").click()
    expect(page.locator("#as-read")).to_contain_text("“5alt” read as “salt”")
    page.context.close()


def test_a_fault_stands_beside_its_field(empty: Shown) -> None:
    page = empty.page("/")
    pasted(page, "Ingredients: wheat flour, sugar, butter.")
    page.wait_for_url("**/original")
    page.fill("#f-panel0-fat-g", "7")
    page.locator("summary", has_text="Another panel").click()
    page.fill("#f-panel1-fat-g", "banana")
    page.fill("#f-panel1-sodium-mg", "55")
    page.fill("#f-teardown-pieces-g", "18,2\nx")
    page.get_by_role("button", name="Keep and work it out").click()
    fault = page.locator("#fault-panel1-fat-g")
    expect(fault).to_contain_text("banana")
    assert page.input_value("#f-panel1-fat-g") == "banana"
    assert page.input_value("#f-panel1-sodium-mg") == "55"
    assert page.input_value("#f-teardown-pieces-g") == "18,2\nx"
    assert page.get_attribute("#f-panel1-fat-g", "aria-invalid") == "true"
    assert page.locator("#fault-panel0-fat-g").count() == 0
    expect(page.locator("#fault-teardown-pieces-g")).to_contain_text("Weigh or measure it again")  # told together
    expect(page.locator("#answer a.jump").first).to_contain_text("Panel 2, fat:")
    page.context.close()


def test_a_recipe_goes_to_the_formula_room(empty: Shown) -> None:
    page = empty.page("/")
    pasted(page, RECIPE)
    page.wait_for_url("**/formula/*")
    expect(page.locator("h1.sentence")).to_contain_text("382 g in all")
    assert "Shore biscuits" in page.inner_text(".which")
    page.context.close()


def test_with_the_keyboard_alone(empty: Shown) -> None:
    """Paste, look at what pins a range, change what a name is taken as, a panel figure, a recipe, lock, fit, card."""
    page = empty.page("/", DESK)

    def tab_to(selector: str, most: int = 140) -> None:
        for _ in range(most):
            page.keyboard.press("Tab")
            if page.evaluate("(s) => document.activeElement.matches(s)", selector):
                outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
                hidden = page.evaluate("document.activeElement.type === 'checkbox'")
                assert outline == "3px" or hidden, selector  # the focus is seen
                return
        raise AssertionError(f"the keyboard does not come to {selector}")

    tab_to(".skip")
    tab_to("#f-pasted")
    page.keyboard.insert_text("Ingredients: wheat flour, sugar, butter, zzqqx.")
    tab_to("button.main")
    page.keyboard.press("Enter")
    page.wait_for_url("**/original")
    base = rebuild_of(page)
    tab_to("#answer .ranges summary")
    page.keyboard.press("Enter")
    assert page.locator("#answer .why").first.is_visible()
    tab_to("#as-read li:nth-child(4) summary")
    page.keyboard.press("Enter")
    tab_to("#as-read input")
    page.keyboard.insert_text("salt")
    tab_to("#f-panel0-fat-g")
    page.keyboard.insert_text("18")
    page.keyboard.press("Enter")  # Enter goes on: it keeps
    page.wait_for_function("() => document.querySelector('#f-panel0-fat-g')?.defaultValue === '18'")
    thing = empty.opened.book.things(int(base.rsplit("/", 1)[1]), "original")[0].id
    assert empty.opened.book.heads(thing)[0].document["panels"] == [{"fat_g": "18"}]
    page.goto(base + "/formula")
    tab_to("#f-pasted")
    page.keyboard.insert_text(RECIPE)
    tab_to("button.main")
    page.keyboard.press("Enter")
    page.wait_for_url("**/formula/*")
    tab_to("#amounts > summary")
    page.keyboard.press("Enter")
    tab_to("input[name='lock:0']")
    page.keyboard.press("Space")
    tab_to("#amounts button.main")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('.lines')?.innerText.includes('stays')")
    tab_to("form[action$='/fit#fitted'] button.main")
    page.keyboard.press("Enter")
    page.wait_for_selector("#fitted")
    assert page.evaluate("document.activeElement.id") == "fitted"
    tab_to("#fitted button.main")
    page.keyboard.press("Enter")
    page.wait_for_function("() => !document.querySelector('#fitted')")
    page.locator(".tabs a", has_text="Versions").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/versions")
    assert page.locator(".version").count() == 3
    tab_to(".tabs a[href$='/card']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/card")
    expect(page.locator("main")).to_contain_text("175 °C")
    page.context.close()


def test_without_javascript(empty: Shown) -> None:
    page = empty.page("/", java_script_enabled=False)
    pasted(page, "Ingredients: wheat flour, sugar, butter, salt.")
    expect(page.locator("h1.sentence")).to_contain_text("flour")
    base = rebuild_of(page)
    page.fill("#f-panel0-fat-g", "18")
    page.get_by_role("button", name="Of the flour").click()  # another way of looking costs no word
    assert page.input_value("#f-panel0-fat-g") == "18"
    expect(page.locator("#answer .whole")).to_contain_text("all flour")
    page.fill("#f-panel0-fat-g", "eighteen")
    page.get_by_role("button", name="Keep and work it out").click()
    expect(page.locator("#fault-panel0-fat-g")).to_contain_text("eighteen")
    page.fill("#f-panel0-fat-g", "18")
    page.get_by_role("button", name="Keep and work it out").click()
    assert page.input_value("#f-panel0-fat-g") == "18"
    assert page.locator(".fault").count() == 0
    page.get_by_role("button", name="Work on this formula").click()
    expect(page.locator("h1.sentence")).to_contain_text("From the label")
    page.goto(base + "/formula")
    page.fill("#f-pasted", RECIPE)
    page.get_by_role("button", name="Weigh it").click()
    page.locator("#amounts > summary").click()
    page.fill("#g1", "65,0")
    page.check("input[name='lock:0']")
    page.get_by_role("button", name="Keep as the next version").click()
    expect(page.locator(".lines")).to_contain_text("65")
    page.get_by_role("button", name="Toward the original").click()
    expect(page.locator("#fitted")).to_be_visible()
    page.get_by_role("link", name="Leave it").click()
    page.get_by_role("link", name="Card").click()
    expect(page.locator("main")).to_contain_text("Allergens.")
    page.context.close()


def test_set_aside_and_taken_up_again(empty: Shown) -> None:
    page = empty.page("/")
    pasted(page, "Ingredients: rye flour, water, salt.")
    page.wait_for_url("**/original")
    name, rebuild = page.inner_text(".which"), rebuild_of(page)
    page.get_by_role("button", name="Set it aside").click()
    page.wait_for_url(empty.base + "/")
    address = f"{rebuild.removeprefix(empty.base)}/original"
    assert page.locator(f".list a[href='{address}']").count() == 0
    page.get_by_role("link", name=re.compile("Set aside: 1")).click()
    page.get_by_role("button", name=f"Take {name} up again").click()
    page.wait_for_url(empty.base + "/")
    assert page.locator(f".list a[href='{address}']").count() == 1
    page.context.close()
