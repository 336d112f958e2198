"""Bringing files into the catalogue: all or nothing, every bad row told, and the same bytes out again."""

import json
from concurrent.futures import ThreadPoolExecutor

from catalogue_files import AXLE, SPACER, VEHICLE, everything, faults_of, lines, spacers
from sqlalchemy import select

from service.api.demo import demo_bodies
from service.api.interchange import unload
from service.api.interchange.load import load
from service.api.interchange.naming import source_file
from service.catalogue.bulk import Tally, whole_shelf
from service.catalogue.revisions import AXLES, PARTS, VEHICLES, current


class TestWhatIsPutInForce:
    def test_new_things_are_created_in_the_order_they_need(self, empty):
        loaded = load(empty, [lines(SPACER, AXLE, VEHICLE)])
        assert (loaded.rows, loaded.tally, loaded.faults) == (3, Tally(created=3), ())
        with empty.reading() as connection:
            assert current(connection, AXLES, ("sallow-2", "front")).revision == 1
            assert current(connection, PARTS, ("INV-TOP-15",)).body["thickness_mm"] == 15

    def test_what_holds_already_gets_no_revision_and_what_differs_gets_one(self, empty):
        load(empty, [lines(SPACER, AXLE, VEHICLE)])
        again = load(empty, [lines(SPACER, AXLE, {**VEHICLE, "name": "Sallow II"})])
        assert again.tally == Tally(revised=1, unchanged=2)
        with empty.reading() as connection:
            vehicle = current(connection, VEHICLES, ("sallow-2",))
        assert (vehicle.revision, vehicle.body["name"]) == (2, "Sallow II")

    def test_the_listing_finds_what_was_imported(self, client):
        service = client.app.state.service
        load(service.database, [spacers("INV-1,Green spacer,Invented Works,15,0.2")])
        (found,) = client.get("/v1/parts?supplier=Invented Works&kind=strut_top_spacer&q=green").json()["items"]
        assert (found["sku"], found["thickness_mm"]) == ("INV-1", {"value": 15.0, "plus_minus": 0.2})

    def test_an_evaluation_sees_it_at_once(self, client):
        question = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "parts": [{"sku": "KES-TOP-20"}]}
        before = client.evaluate(**question).json()
        load(client.app.state.service.database, [spacers("KES-TOP-20,Strut-top spacer,Kestvale Springworks,10,")])
        after = client.evaluate(**question).json()
        assert before["provenance"]["part_revisions"] == {"KES-TOP-20": 1}
        assert after["provenance"]["part_revisions"] == {"KES-TOP-20": 2}
        assert before["lift_mm"]["value"] > after["lift_mm"]["value"]

    def test_it_can_withdraw_and_put_back(self, client):
        database = client.app.state.service.database
        load(database, [lines({**SPACER, "status": "withdrawn"})])
        assert client.get("/v1/parts?q=INV-TOP-15").json()["items"] == []
        load(database, [lines(SPACER)])
        assert len(client.get("/v1/parts?q=INV-TOP-15").json()["items"]) == 1

    def test_what_reading_adds_may_be_there(self, client):
        read = client.get("/v1/parts/KES-TOP-20").json()
        loaded = load(client.app.state.service.database, [lines(read)])
        assert loaded.tally == Tally(unchanged=1)

    def test_a_dry_run_tells_and_changes_nothing(self, database):
        before = everything(database)
        loaded = load(database, [lines(SPACER, AXLE, VEHICLE)], dry_run=True)
        assert (loaded.tally, loaded.faults) == (Tally(created=3), ())
        assert everything(database) == before

    def test_more_rows_than_one_statement_takes(self, empty):
        rows = [f"INV-{number:05},Spacer,Invented,{10 + number % 7},0.1" for number in range(1203)]
        assert load(empty, [spacers(*rows)]).tally == Tally(created=1203)
        again = load(empty, [spacers(*rows[:-3], "INV-01200,Other,Invented,1,", *rows[-2:])])
        assert again.tally == Tally(revised=1, unchanged=1202)

    def test_progress_is_told_to_the_end(self, empty):
        told = []
        rows = [f"INV-{number:05},Spacer,Invented,10,0.1" for number in range(1203)]
        load(empty, [spacers(*rows)], tell=lambda step, more, total: told.append((step, more, total)))
        for step in ("checking", "storing"):
            assert sum(more for name, more, _ in told if name == step) == 1203


def test_two_imports_at_once_take_turns(empty):
    def bring_in(thickness):
        rows = [f"INV-{number:04},N,S,{thickness}," for number in range(700)]
        return load(empty, [spacers(*rows), lines({**VEHICLE, "name": f"Sallow {thickness}"}, AXLE)]).tally

    with ThreadPoolExecutor(2) as threads:
        tallies = list(threads.map(bring_in, (10, 20)))
    assert sorted(tallies, key=lambda tally: tally.created) == [Tally(revised=701, unchanged=1), Tally(created=702)]
    with empty.reading() as connection:
        last = {stored.body["thickness_mm"] for stored in whole_shelf(connection, PARTS)}
        assert {stored.revision for stored in whole_shelf(connection, PARTS)} == {2}
        assert {f"Sallow {thickness:g}" for thickness in last} == {whole_shelf(connection, VEHICLES)[0].body["name"]}


def test_a_change_by_hand_waits_for_an_import_and_is_then_stale(client):
    database, path = client.app.state.service.database, "/v1/parts/KES-TOP-20"
    read = client.get(path)
    with ThreadPoolExecutor(1) as other:
        put = []

        def meanwhile(step, *_):
            if step == "storing" and not put:
                arguments = {"json": read.json(), "headers": {"If-Match": read.headers["etag"]}}
                put.append(other.submit(client.request, "PUT", path, **arguments))

        load(database, [spacers("KES-TOP-20,Strut-top spacer,Kestvale Springworks,10,")], tell=meanwhile)
        assert put[0].result(timeout=20).status_code == 412
    assert client.get(path).json()["thickness_mm"] == 10


class TestWhatIsRefused:
    def test_every_bad_row_is_told_with_its_place(self, database):
        told = faults_of(
            database,
            spacers("A,N,S,20,0.5", "B,N,S,thick,", "C,,S,20,", "D,N,S,0,", "E,N,S,20,30"),
            lines(
                {**SPACER, "sku": "F", "thicknes_mm": 1},
                [1],
                {"name": "what am I"},
                {**SPACER, "kind": "wheel"},
                {"sku": "G", "name": "N", "supplier": "S", "thickness_mm": 20},
            ),
        )
        assert [each[:3] for each in told] == [
            ("strut_top_spacer.csv", 3, "thickness_mm"),
            ("strut_top_spacer.csv", 4, "name"),
            ("strut_top_spacer.csv", 5, "thickness_mm"),
            ("strut_top_spacer.csv", 6, "thickness_mm_plus_minus"),
            ("all.jsonl", 1, "thicknes_mm"),
            ("all.jsonl", 2, None),
            ("all.jsonl", 3, None),
            ("all.jsonl", 4, "kind"),
            ("all.jsonl", 5, "kind"),
        ]
        details = [each[3] for each in told]
        assert details[0] == "must be a number, not 'thick'"
        assert details[1] == "is missing"
        assert details[2].startswith("0 is no thickness of a spacer")
        assert details[4] == "is not known here: check how it is spelt"
        assert [each.partition(".")[0] for each in details[-2:]] == ["is no kind of part", "is missing"]

    def test_a_cell_that_cannot_be_read_hides_nothing_else_of_its_row(self, database):
        bare = "sku,name,supplier,wire_mm,total_coils,free_length_mm,rate_n_per_mm\n"
        springs = "A,,S,thick,8,400,70\nB,N,S,16,8,400,stiff\nC,N,S,16,8,,stiff\nD,N,S,990,8,400,stiff\n"
        told = faults_of(database, source_file("coil_spring.csv", (bare + springs).encode()))
        assert [(line, column) for _, line, column, _ in told] == [
            (2, "wire_mm"), (2, "name"), (3, "rate_n_per_mm"), (4, "rate_n_per_mm"), (4, "free_length_mm"),
            (5, "rate_n_per_mm"),
        ]  # fmt: skip

    def test_a_line_that_is_no_json_is_told_and_the_next_is_read(self, database):
        text = b'{"sku": "A",\n{"sku": "A", "sku": "B"}\n\xff\n' + json.dumps({**SPACER, "sku": 5}).encode()
        told = faults_of(database, source_file("all.jsonl", text))
        assert [(line, column) for _, line, column, _ in told] == [(1, None), (2, None), (3, None), (4, "sku")]
        assert told[0][3].startswith("The line is no JSON")
        assert told[1][3] == 'The name "sku" stands twice in one object.'

    def test_a_name_stands_once_over_all_files(self, database):
        told = faults_of(
            database, spacers("INV-TOP-15,N,S,1,"), lines({**SPACER, "sku": "B"}, SPACER, VEHICLE, VEHICLE)
        )
        assert told == [
            ("all.jsonl", 2, "sku", "INV-TOP-15 stands in line 2 of strut_top_spacer.csv already"),
            ("all.jsonl", 4, "vehicle_id", "sallow-2 stands in line 3 of all.jsonl already"),
        ]

    def test_an_axle_needs_its_vehicle(self, database):
        ((_, line, column, detail),) = faults_of(database, lines(AXLE))
        assert (line, column, detail) == (1, "vehicle", "The catalogue has no vehicle sallow-2, and no file brings it.")

    def test_an_axle_whose_vehicles_row_is_bad_is_not_blamed(self, database):
        ((_, line, column, _),) = faults_of(database, lines({**VEHICLE, "colour": "green"}, AXLE))
        assert (line, column) == (1, "colour")

    def test_an_axle_says_which_it_is(self, database):
        told = faults_of(database, lines({**AXLE, "vehicle": None}, {k: v for k, v in AXLE.items() if k != "end"}))
        assert [(line, column) for _, line, column, _ in told] == [(1, "vehicle"), (2, "end")]

    def test_masses_are_held_against_the_axles_that_come_with_them(self, database):
        light = {**VEHICLE, "vehicle_masses": {"front_axle_kg": 70}}
        ((_, line, column, _),) = faults_of(database, lines(light, AXLE))
        assert (line, column) == (2, "unsprung_kg_per_wheel")

    def test_masses_are_held_against_the_axles_that_are_there(self, empty):
        load(empty, [lines(VEHICLE, AXLE)])
        ((_, line, column, _),) = faults_of(empty, lines({**VEHICLE, "vehicle_masses": {"front_axle_kg": 70}}))
        assert (line, column) == (1, "vehicle_masses")

    def test_masses_and_axle_may_change_together(self, empty):
        load(empty, [lines(VEHICLE, AXLE)])
        changed = lines({**VEHICLE, "vehicle_masses": {"front_axle_kg": 70}}, {**AXLE, "unsprung_kg_per_wheel": 20})
        assert load(empty, [changed]).tally == Tally(revised=2)

    def test_masses_that_cannot_be(self, database):
        told = faults_of(database, lines({**VEHICLE, "vehicle_masses": {"wheelbase_mm": 2.6}}))
        assert [(line, column) for _, line, column, _ in told] == [(1, "vehicle_masses")]


class TestExportGivesBackWhatImportTakes:
    def test_one_file_brings_the_whole_catalogue_over(self, client, empty):
        client.delete("/v1/parts/KES-TOP-20", headers={"If-Match": '"1"'})
        client.delete("/v1/vehicles/tarn-300-double-cab", headers={"If-Match": '"1"'})
        database = client.app.state.service.database
        exported = everything(database)
        loaded = load(empty, [source_file("all.jsonl", exported)])
        assert loaded.tally == Tally(created=exported.count(b"\n"))
        assert everything(empty) == exported
        assert load(database, [source_file("all.jsonl", exported)]).tally == Tally(unchanged=loaded.rows)

    def test_a_folder_brings_the_whole_catalogue_over(self, database, empty):
        with database.snapshot() as connection:
            folder = dict(unload.folder(connection))
        loaded = load(empty, [source_file(name, content) for name, content in folder.items()])
        assert loaded.faults == ()
        with empty.snapshot() as connection:
            assert dict(unload.folder(connection)) == folder
        assert everything(empty) == everything(database)

    def test_nothing_is_left_out(self, database):
        bodies = [json.loads(line) for line in everything(database).splitlines()]
        assert {body["sku"] for body in bodies if "sku" in body} == {part["sku"] for part in demo_bodies("parts")}
        assert len([body for body in bodies if "end" in body]) == len(demo_bodies("axles"))
        assert len([body for body in bodies if "vehicle_id" in body]) == len(demo_bodies("vehicles"))

    def test_the_order_is_that_of_unicode_on_either_database(self, empty):
        skus = ["b", "A", "a", "B", "a-1", "a.1", "a_1"]
        load(empty, [spacers(*(f"{sku},N,S,1," for sku in skus))])
        with empty.reading() as connection:
            assert [stored.key[0] for stored in whole_shelf(connection, PARTS)] == sorted(skus)

    def test_a_kind_by_itself(self, database):
        with database.snapshot() as connection:
            content = unload.csv_file(connection, "tyre")
            heads = PARTS.heads
            kept = connection.execute(select(heads.c.sku).where(heads.c.kind == "tyre")).all()
        assert content.count(b"\n") == 1 + len(kept)
