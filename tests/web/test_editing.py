"""Editing a file's facts: two browsers, a hand in the file, comments kept, nothing overwritten."""

from __future__ import annotations

import re
import threading
import tomllib
from pathlib import Path

import pytest
from forms import token_in
from starlette.testclient import TestClient
from tests.web.conftest import HOSTS

from drybuild.web.app import make_app

DISC = "part.tolland_disc_310"
FILE = "brakes.toml"


def fields_of(client: TestClient, address: str) -> dict[str, str]:
    """The hidden fields of the form that changes a fact."""
    page = client.get("/set", params={"address": address}).text
    hidden = re.findall(r'<input type="hidden" name="([a-z]+)" value="([^"]*)">', page)
    return dict(hidden)


def send(client: TestClient, fields: dict[str, str], value: str, by: str = "maker"):  # type: ignore[no-untyped-def]
    return client.post("/set", data={**fields, "value": value, "by": by})


def stated(folder: Path, part: str, key: str) -> object:
    text = (folder / "parts" / FILE).read_text(encoding="utf-8")
    return tomllib.loads(text)["part"][part][key]


def test_the_form_shows_value_doubt_how_known_and_where(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/set", params={"address": f"{DISC}.outer_diameter"}).text
    assert "about 310.0 mm, 309.7 to 310.3" in page
    assert "data" in page
    assert "parts/brakes.toml" in page
    assert 'value="310 ± 0.3 mm"' in page


def test_what_rests_on_a_part_that_is_only_planned_is_looked_for_when_all_is_done(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/set", params={"address": f"{DISC}.outer_diameter"}).text
    assert "What rests on it when all is done" in page
    assert "No check of this car asks for it" not in page
    assert re.search(r"/workings/brakes\.[a-z_]+/front[a-z.]*\?state=finished", page)
    now = browser().get("/set", params={"address": "car.wheelbase"}).text
    assert "What rests on it</h2>" in now


def test_two_browsers_that_change_two_keys_are_merged(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    one, other = browser(), browser()
    mine, theirs = fields_of(one, f"{DISC}.outer_diameter"), fields_of(other, f"{DISC}.ring_mass")
    assert send(one, mine, "308 ± 0.3 mm").status_code == 303
    assert send(other, theirs, "6.1 ± 0.2 kg").status_code == 303
    assert stated(folder, "tolland_disc_310", "outer_diameter")["is"] == "308 ± 0.3 mm"  # type: ignore[index]
    assert stated(folder, "tolland_disc_310", "ring_mass")["is"] == "6.1 ± 0.2 kg"  # type: ignore[index]


def test_two_browsers_that_change_one_key_clash_and_both_values_are_shown(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    one, other = browser(), browser()
    mine, theirs = (fields_of(b, f"{DISC}.ring_mass") for b in (one, other))
    assert send(one, mine, "6.1 ± 0.2 kg").status_code == 303
    refused = send(other, theirs, "5.5 ± 0.2 kg")
    assert refused.status_code == 409
    assert "Changed meanwhile" in refused.text
    assert "6.1 ± 0.2 kg" in refused.text
    assert "5.5 ± 0.2 kg" in refused.text
    assert stated(folder, "tolland_disc_310", "ring_mass")["is"] == "6.1 ± 0.2 kg"  # type: ignore[index]
    again = dict(re.findall(r'<input type="hidden" name="([a-z]+)" value="([^"]*)">', refused.text))
    assert send(other, again, "5.5 ± 0.2 kg").status_code == 303


def test_a_hand_in_the_file_meanwhile_is_kept(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here, file = browser(), folder / "parts" / FILE
    fields = fields_of(here, f"{DISC}.ring_mass")
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('price = "310 AUD"', 'price = "295 AUD" # haggled'), "utf-8")
    assert send(here, fields, "6.1 ± 0.2 kg").status_code == 303
    after = file.read_text(encoding="utf-8")
    assert 'price = "295 AUD" # haggled' in after
    assert "6.1 ± 0.2 kg" in after


def test_a_hand_at_the_same_key_meanwhile_is_not_overwritten(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here, file = browser(), folder / "parts" / FILE
    fields = fields_of(here, f"{DISC}.ring_mass")
    text = file.read_text(encoding="utf-8").replace('"5.9 ± 0.2 kg"', '"5.7 ± 0.1 kg"')
    file.write_text(text, encoding="utf-8")
    assert send(here, fields, "6.1 ± 0.2 kg").status_code == 409
    assert file.read_text(encoding="utf-8") == text


def test_only_the_one_value_of_the_file_changes(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here, file = browser(), folder / "parts" / FILE
    before = file.read_text(encoding="utf-8").splitlines()
    assert send(here, fields_of(here, f"{DISC}.ring_mass"), "6.1 ± 0.2 kg").status_code == 303
    after = file.read_text(encoding="utf-8").splitlines()
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert len(changed) == 1
    assert "ring_mass" in changed[0][0]


@pytest.mark.parametrize(
    ("value", "said"),
    [("6 parsec", "found"), ("", "Type what it is"), ("5.9", "found"), ("2 ± 1 mm", "found")],
)
def test_what_the_key_does_not_take_is_refused_and_the_file_left(  # type: ignore[no-untyped-def]
    browser, folder: Path, value: str, said: str
) -> None:
    here, file = browser(), folder / "parts" / FILE
    before = file.read_bytes()
    refused = send(here, fields_of(here, f"{DISC}.ring_mass"), value)
    assert refused.status_code == 409
    assert said in refused.text
    assert file.read_bytes() == before


def test_a_key_is_taken_out_and_put_in_again(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    fields = fields_of(here, f"{DISC}.shed")
    assert here.post("/set", data={**fields, "out": "true"}).status_code == 303
    with pytest.raises(KeyError):
        stated(folder, "tolland_disc_310", "shed")
    fields = fields_of(here, f"{DISC}.shed")
    assert send(here, fields, "13 ± 2.5 W/K").status_code == 303
    assert stated(folder, "tolland_disc_310", "shed") == {"is": "13 ± 2.5 W/K", "by": "maker"}


def test_a_fact_of_the_car_that_nobody_stated_goes_into_its_table(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    fields = fields_of(here, "car.drag_area")
    assert send(here, fields, "0.66 ± 0.03 m2", "document").status_code == 303
    car = tomllib.loads((folder / "car.toml").read_text(encoding="utf-8"))
    assert car["car"]["drag_area"] == {"is": "0.66 ± 0.03 m2", "by": "document"}


def test_what_was_a_guess_is_called_none_once_it_is_known(browser, hatch: Path) -> None:  # type: ignore[no-untyped-def]
    here, file = browser(serving=make_app(hatch, hosts=HOSTS)), hatch / "parts" / "standard.toml"

    def line() -> str:
        text = file.read_text(encoding="utf-8").partition("[part.std_wheel_nuts]")[2]
        return next(one for one in text.splitlines() if one.startswith("form"))

    assert "# from memory" in line()
    fields = fields_of(here, "part.std_wheel_nuts.form")
    assert send(here, fields, "bolt", "assumed").status_code == 303
    assert "# from memory" in line()
    fields = fields_of(here, "part.std_wheel_nuts.form")
    assert send(here, fields, "bolt", "eye").status_code == 303
    assert "from memory" not in line()
    assert "# as stated, " in line()


def test_a_list_has_an_item_a_line_and_may_be_empty(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here, address = browser(), "identity.body_work"
    page = here.get("/set", params={"address": address}).text
    assert "Each on a line of its own" in page
    assert "± 2 mm" not in page
    assert "Measure it" not in page

    def written() -> object:
        text = (folder / "car.toml").read_text(encoding="utf-8")
        return tomllib.loads(text)["identity"].get("body_work")

    two = "front lip rolled, report 12\r\ntow eye welded; photographs 3"
    assert send(here, fields_of(here, address), two, by="").status_code == 303
    assert written() == ["front lip rolled, report 12", "tow eye welded", "photographs 3"]
    both = {**fields_of(here, address), "none": "true"}
    assert send(here, both, "x", by="").status_code == 409
    assert len(written()) == 3  # type: ignore[arg-type]
    assert send(here, both, "", by="").status_code == 303
    assert written() == []
    assert 'value="true" checked> There is none' in here.get(
        "/set", params={"address": address}
    ).text


def test_a_list_that_is_looked_up_is_said_in_its_file(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    found = here.get("/measure", params={"words": "body work"}).text
    assert 'href="/set?address=identity.body_work"' in found
    assert "/measure/at/identity.body_work" not in found
    answer = here.get("/measure/at/identity.body_work", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (
        303, "/set?address=identity.body_work",
    )  # fmt: skip


def test_words_are_not_asked_for_their_doubt(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/set", params={"address": "identity.chassis_number"}).text
    assert "± 2 mm" not in page
    assert "Measure it" in page


def test_many_at_once_lose_no_edit(browser, app, folder: Path) -> None:  # type: ignore[no-untyped-def]
    keys = {
        "ring_mass": "6.{} ± 0.2 kg", "thickness": "28.{} ± 0.05 mm",
        "outer_diameter": "309.{} ± 0.3 mm", "shed": "13.{} ± 2.5 W/K",
    }  # fmt: skip
    clients = {key: browser() for key in keys}
    answers: list[int] = []

    def edit(key: str, text: str) -> None:
        for turn in range(3):
            fields = fields_of(clients[key], f"{DISC}.{key}")
            answers.append(send(clients[key], fields, text.format(turn)).status_code)

    threads = [threading.Thread(target=edit, args=item) for item in keys.items()]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [303] * 12
    for key, text in keys.items():
        assert stated(folder, "tolland_disc_310", key)["is"] == text.format(2)  # type: ignore[index]


def test_who_may_work_may_not_change_files(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here, away = browser(), browser(away=True)
    token = fields_of(here, f"{DISC}.ring_mass")["token"]
    made = here.post("/devices/code", data={"token": token, "role": "cards"}).text
    code = re.search(r"Code (\d{4}) (\d{4})", made)
    assert code is not None
    away.post("/pair", data={"code": code[1] + code[2], "name": "phone"})
    page = away.get("/set", params={"address": f"{DISC}.ring_mass"}).text
    assert "may not change files" in page
    found = token_in(page)
    fields = {**fields_of(here, f"{DISC}.ring_mass"), "token": found}
    assert send(away, fields, "6.1 kg").status_code == 403
    assert stated(folder, "tolland_disc_310", "ring_mass")["is"] == "5.9 ± 0.2 kg"  # type: ignore[index]
