//! Which reports are offered, what they write, and how many taps a turnaround costs.
//!
//! Taps are counted as the data says: two a sheet, opened and sent; one where it stands open for the
//! person asked; one for "done" on a card; two for each damage, area and kind, inside the sheet.

use super::*;
use crate::pit::ids::LineId;
use crate::pit::library::tasks::Phase;
use crate::pit::logbook::register::Machine;
use crate::pit::tasks::testing::Day;
use crate::pit::testing::{ANA, BEN, ROBOT};
use serde_json::json;
use uuid::Uuid;

const OFFICIALS: [&str; 3] = ["filled", "weighed", "inspected"];

fn form(day: &Day, sheet: &Sheet, who: PersonId, damage: &[(&str, &str)]) -> Form {
    let key = u128::try_from(day.lines.len()).unwrap() << 32;
    Form {
        key: LineId(Uuid::from_u128(key)),
        robot: ROBOT,
        at: day.now(),
        seen_by: Some(who),
        rows: sheet
            .rows
            .iter()
            .map(|row| MarkedRow {
                row: row.row.id.clone(),
                mark: Mark::So,
                filled: row
                    .filled
                    .iter()
                    .map(|(blank, value)| ((*blank).to_owned(), value.clone()))
                    .collect(),
            })
            .collect(),
        damage: damage
            .iter()
            .map(|(area, kind)| ((*area).to_owned(), (*kind).to_owned()))
            .collect(),
    }
}

fn send(day: &mut Day, sheet: &Sheet, who: PersonId, role: Role, damage: &[(&str, &str)]) {
    let drafts = expand(&form(day, sheet, who, damage)).unwrap();
    day.send(drafts, who, role);
    day.at_s += 240;
}

/// Plays a turnaround by taking what is offered first, until nothing but arming and charges that
/// are in nobody's way is left. Gives the taps of the crew and the reports used.
fn play(machine: Machine, damage: &[(&str, &str)]) -> (usize, Vec<String>) {
    let mut day = Day::fought(machine);
    let (mut taps, mut used) = (0, Vec::new());
    for _ in 0..40 {
        let today = day.today();
        let left = today.open().any(|(_, item)| {
            item.def.phase != Phase::Arming
                && !(item.def.passive && item.key.task.ends_with("-charge"))
        });
        if !left {
            return (taps, used);
        }
        let card = today
            .ready()
            .find(|(_, item)| OF_ONE_TASK.contains(&&*item.def.closes_with));
        if let Some((index, item)) = card {
            let row = card_of(&day, index);
            used.push(format!("done {}", item.key.task));
            send(&mut day, &row, ANA, Role::Crew, &[]);
            taps += 1;
            continue;
        }
        let mut sheets = offered(&day.pit, &today, Some(ANA));
        let mut who = ANA;
        if let Some(second) = offered(&day.pit, &today, Some(BEN))
            .into_iter()
            .find(Sheet::stands_open)
        {
            who = BEN;
            sheets = vec![second];
        }
        let sheet = sheets
            .into_iter()
            .find(|sheet| sheet.report.id != "charge_over")
            .unwrap_or_else(|| {
                panic!(
                    "nothing offered for {:?}",
                    today.open().map(|(_, i)| &i.key.task).collect::<Vec<_>>()
                )
            });
        let id = sheet.report.id.as_str();
        used.push(id.to_owned());
        if OFFICIALS.contains(&id) {
            send(&mut day, &sheet, who, Role::Official, &[]);
        } else if id == "looked_over" {
            taps += 2 + 2 * damage.len();
            send(&mut day, &sheet, who, Role::Crew, damage);
        } else {
            taps += if sheet.stands_open() { 1 } else { 2 };
            send(&mut day, &sheet, who, Role::Crew, &[]);
        }
    }
    panic!("never done: {used:?}");
}

fn card_of(day: &Day, index: usize) -> Sheet {
    let today = day.today();
    Sheet {
        report: library::data().reports.report("done").unwrap(),
        rows: vec![card(&day.pit, &today, index, Some(ANA)).unwrap()],
        closes: vec![index],
        not_for: Vec::new(),
    }
}

fn offered_to(day: &Day, who: PersonId) -> Vec<String> {
    offered(&day.pit, &day.today(), Some(who))
        .into_iter()
        .map(|sheet| sheet.report.id.clone())
        .collect()
}

fn sheet_of(day: &Day, id: &str, who: PersonId) -> Sheet {
    offered(&day.pit, &day.today(), Some(who))
        .into_iter()
        .find(|sheet| sheet.report.id == id)
        .unwrap_or_else(|| panic!("{id} is not offered: {:?}", offered_to(day, who)))
}

fn rows(sheet: &Sheet) -> Vec<&str> {
    sheet.rows.iter().map(|row| row.row.id.as_str()).collect()
}

#[test]
fn a_clean_turnaround_takes_at_most_twelve_taps() {
    for machine in Machine::ALL {
        let (taps, used) = play(machine, &[]);
        // 11 by the independent count over the same data; the goal is 12.
        assert_eq!(taps, 11, "{machine:?}: {used:?}");
        assert_eq!(used.first().map(String::as_str), Some("back_made_safe"));
        assert_eq!(used.last().map(String::as_str), Some("off_to_queue"));
    }
}

#[test]
fn a_damaged_turnaround_takes_at_most_twenty_five() {
    let damage = [("wheel_fl", "wheel_cut"), ("ram", "leak")];
    let (taps, used) = play(Machine::FlipperHeavyweight, &damage);
    // 24 by the independent count over the same data; the goal is 25.
    assert_eq!(taps, 24, "{used:?}");
    for report in [
        "weighed",
        "inspected",
        "link_in_test",
        "tested",
        "done fl-wheel",
        "done fl-hose",
    ] {
        assert!(used.iter().any(|id| id == report), "{report} in {used:?}");
    }
}

#[test]
fn rows_that_say_nothing_about_this_machine_are_absent() {
    let spinner = Day::fought(Machine::SpinnerHeavyweight);
    let back = sheet_of(&spinner, "back_made_safe", ANA);
    assert_eq!(rows(&back), ["bar_on", "link_out", "tx_off", "light_dark"]);
    let mut flipper = Day::fought(Machine::FlipperHeavyweight);
    let back = sheet_of(&flipper, "back_made_safe", ANA);
    assert!(rows(&back).contains(&"gauge_zero") && !rows(&back).contains(&"on_stand"));
    assert!(back.rows.iter().any(|row| row.text == "Weapon bar on"));
    send(&mut flipper, &back, ANA, Role::Crew, &[]);
    let second = sheet_of(&flipper, "second_look", BEN);
    assert_eq!(
        rows(&second),
        [
            "on_stand",
            "second_bar",
            "second_link",
            "second_gas",
            "second_light",
            "second_zero"
        ]
    );
    assert!(second.rows[0].carried && second.stands_open());
}

#[test]
fn who_made_it_safe_does_not_look_at_their_own_work() {
    let mut day = Day::fought(Machine::SmallMachine);
    let back = sheet_of(&day, "back_made_safe", ANA);
    send(&mut day, &back, ANA, Role::Crew, &[]);
    assert!(!offered_to(&day, ANA).contains(&"second_look".to_owned()));
    assert!(offered_to(&day, BEN).contains(&"second_look".to_owned()));
}

#[test]
fn a_crew_is_offered_making_safe_before_the_organiser_ends_the_bout() {
    let mut day = Day::arrives(Machine::SmallMachine);
    day.at_s = 3_700;
    let bout = crate::pit::ids::Subject::Bout(crate::pit::tasks::testing::FIRST);
    day.fact(bout, "bout_started", None, json!({}), ANA);
    assert!(offered_to(&day, ANA).contains(&"back_made_safe".to_owned()));
}

#[test]
fn the_same_form_writes_the_same_lines() {
    let day = Day::fought(Machine::FlipperHeavyweight);
    let back = sheet_of(&day, "back_made_safe", ANA);
    let form = form(&day, &back, ANA, &[("wheel_fl", "wheel_cut")]);
    let drafts = expand(&form).unwrap();
    assert_eq!(drafts, expand(&form).unwrap());
    let ids: BTreeSet<LineId> = drafts.iter().map(|draft| draft.id).collect();
    assert_eq!(ids.len(), drafts.len());
    // The holder of the link is named in the line.
    let link = drafts
        .iter()
        .find(|draft| draft.body.kind() == Kind::Link)
        .unwrap();
    assert_eq!(link.body.to_value()["holder"], json!({"person": ANA}));
}

#[test]
fn what_is_not_so_is_a_sight_of_the_opposite_or_nothing() {
    let day = Day::fought(Machine::FlipperHeavyweight);
    let back = sheet_of(&day, "back_made_safe", ANA);
    let mut form = form(&day, &back, ANA, &[]);
    for row in &mut form.rows {
        row.mark = Mark::NotSo;
    }
    let said: Vec<_> = expand(&form)
        .unwrap()
        .iter()
        .map(|draft| (draft.how, draft.body.to_value()))
        .collect();
    for value in [
        json!({"state": "off"}),
        json!({"state": "in"}),
        json!({"valve": "open"}),
        json!({"system": "live"}),
        json!({"state": "on"}),
        json!({"state": "lit"}),
    ] {
        assert!(
            said.contains(&(Some(How::Saw), value.clone())),
            "{value} in {said:?}"
        );
    }
}

#[test]
fn a_form_with_unknown_rows_is_refused_as_a_whole() {
    let day = Day::fought(Machine::SmallMachine);
    let back = sheet_of(&day, "back_made_safe", ANA);
    let mut form = form(&day, &back, ANA, &[]);
    form.rows[0].row = "bar_of".to_owned();
    form.rows[1]
        .filled
        .insert("{me}".to_owned(), json!("nobody"));
    let faults = expand(&form).unwrap_err();
    assert_eq!(faults.len(), 2, "{faults:?}");
}
