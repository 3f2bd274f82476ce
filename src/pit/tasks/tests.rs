//! Which tasks are on the list, in which order, and what closes them.
//!
//! Numbers of tasks come from `verify.py`, the independent check of the task data; the order rules
//! are those of `safety.md`: nobody's hands in a live machine, proofs before a powered test.

use super::testing::*;
use super::*;
use crate::pit::library::tasks::{List, Phase};
use crate::pit::logbook::How;
use crate::pit::logbook::register::Machine;
use crate::pit::testing::{ANA, BEN, CAL, ROBOT, TEAM, start};
use chrono::TimeDelta;
use serde_json::json;
use std::collections::BTreeSet;
use uuid::Uuid;

fn ids(today: &Today) -> Vec<&str> {
    today
        .items
        .iter()
        .map(|item| item.key.task.as_str())
        .collect()
}

fn before_arming(day: &Day) -> usize {
    let today = day.today();
    today
        .items
        .iter()
        .filter(|item| item.def.phase != Phase::Arming)
        .count()
}

fn progress(day: &Day, id: &str) -> Progress {
    let today = day.today();
    today.items[today.find(id, None).unwrap()].progress.clone()
}

fn is_done(day: &Day, id: &str) -> bool {
    progress(day, id).is_done()
}

#[test]
fn a_clean_turnaround_has_the_tasks_the_data_was_checked_with() {
    for (machine, count) in [
        (Machine::FlipperHeavyweight, 28),
        (Machine::SpinnerHeavyweight, 23),
        (Machine::SmallMachine, 22),
    ] {
        assert_eq!(before_arming(&Day::fought(machine)), count, "{machine:?}");
    }
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.damage("wheel_fl", "wheel_cut");
    day.damage("ram", "leak");
    assert_eq!(before_arming(&day), 38);
}

#[test]
fn the_list_in_hand_follows_the_bouts() {
    let mut day = Day::arrives(Machine::SmallMachine);
    assert_eq!(day.today().hand.list, List::Arrival);
    day = Day::fought(Machine::SmallMachine);
    let hand = day.today().hand;
    assert_eq!((hand.list, hand.turnaround), (List::Turnaround, 1));
    for kind in ["bout_started", "bout_ended"] {
        day.at_s += 600;
        day.fact(
            crate::pit::ids::Subject::Bout(SECOND),
            kind,
            None,
            json!({}),
            ANA,
        );
    }
    let hand = day.today().hand;
    assert_eq!((hand.list, hand.turnaround), (List::EndOfDay, 2));
}

#[test]
fn damage_calls_a_repair_for_each_area_and_what_the_change_asks() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.damage("wheel_fl", "wheel_cut");
    day.damage("wheel_rr", "wheel_loose");
    let today = day.today();
    let areas: Vec<_> = today
        .items
        .iter()
        .filter(|item| item.key.task == "fl-wheel")
        .map(|item| item.key.instance.as_deref().unwrap())
        .collect();
    assert_eq!(areas, ["wheel_fl", "wheel_rr"]);
    // A wheel is a drive part: weighed if not provable, driven in the test area, no inspection.
    let ids = ids(&today);
    assert!(ids.contains(&"fl-weigh") && ids.contains(&"fl-t_drive"));
    assert!(!ids.contains(&"fl-inspection") && !ids.contains(&"fl-t_leak"));
}

#[test]
fn uncalled_tasks_pass_their_predecessors_on() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.say(
        ANA,
        How::Saw,
        "changed",
        json!({"change": "asked_by_event"}),
    );
    let today = day.today();
    // No leak test is due without the gas path being touched, but the event asks for the weapon,
    // and the data calls the leak test with every weapon test.
    let order = ids(&today);
    let at = |id: &str| order.iter().position(|other| *other == id).unwrap();
    assert!(at("fl-close") < at("fl-t_arm") && at("fl-t_drive") < at("fl-t_bar_out"));
    let clean = Day::fought(Machine::FlipperHeavyweight).today();
    let fasteners = &clean.items[clean.find("fl-fasteners", None).unwrap()];
    let waits: BTreeSet<&str> = fasteners
        .after
        .iter()
        .map(|&index| clean.items[index].key.task.as_str())
        .collect();
    assert_eq!(
        waits,
        BTreeSet::from([
            "fl-decide",
            "fl-drive_look",
            "fl-gas_look",
            "fl-link_look",
            // From the repairs that are not called.
            "fl-elec_look",
            "fl-packs_out",
            "fl-bottle_out",
        ])
    );
}

#[test]
fn a_sheet_closes_in_the_order_of_the_tasks_and_nothing_early() {
    let mut day = Day::fought(Machine::SmallMachine);
    day.say(
        ANA,
        How::Did,
        "link",
        json!({"state": "out", "holder": {"person": ANA}}),
    );
    assert!(
        !is_done(&day, "sm-link_out"),
        "the lock comes before the link"
    );
    day.at_s += 10;
    day.say(ANA, How::Did, "weapon_bar", json!({"state": "on"}));
    assert!(is_done(&day, "sm-bar_on"));
    assert!(
        !is_done(&day, "sm-link_out"),
        "said before its predecessor was closed"
    );
    day.at_s += 10;
    day.say(ANA, How::Saw, "link", json!({"state": "out"}));
    assert!(!is_done(&day, "sm-link_out"), "seen is not done");
    day.at_s += 10;
    // One sheet: the rows count together, whatever their order.
    day.say(ANA, How::Did, "transmitter", json!({"state": "off"}));
    day.say(
        ANA,
        How::Did,
        "link",
        json!({"state": "out", "links": "all"}),
    );
    assert!(is_done(&day, "sm-link_out") && is_done(&day, "sm-tx_off"));
}

#[test]
fn facts_count_from_the_beginning_of_the_bout() {
    let mut day = Day::arrives(Machine::SmallMachine);
    day.at_s = 3_000;
    day.say(ANA, How::Did, "weapon_bar", json!({"state": "on"}));
    day.at_s = 3_700;
    day.fact(
        crate::pit::ids::Subject::Bout(FIRST),
        "bout_started",
        None,
        json!({}),
        ANA,
    );
    day.at_s = 3_890;
    let early = day.clone();
    day.say(ANA, How::Did, "weapon_bar", json!({"state": "on"}));
    for (mut day, done) in [(day, true), (early, false)] {
        day.at_s = 3_900;
        day.fact(
            crate::pit::ids::Subject::Bout(FIRST),
            "bout_ended",
            None,
            json!({}),
            ANA,
        );
        assert_eq!(is_done(&day, "sm-bar_on"), done);
    }
}

#[test]
fn a_program_closes_nothing() {
    let mut day = Day::fought(Machine::SmallMachine);
    let draft = crate::pit::logbook::Draft {
        id: crate::pit::ids::LineId(uuid::Uuid::from_u128(7)),
        at: day.now(),
        seen_by: None,
        subject: crate::pit::ids::Subject::Robot(ROBOT),
        how: Some(How::Did),
        corrects: None,
        if_revision: None,
        body: crate::pit::testing::bar(crate::pit::logbook::machine::Bar::On),
    };
    day.send(vec![draft], ANA, crate::pit::logbook::Role::Program);
    assert!(!is_done(&day, "sm-bar_on"));
}

#[test]
fn a_swapped_part_closes_the_task_it_names() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.damage("wheel_fl", "wheel_cut");
    day.damage("ram", "leak");
    day.work_up_to("fl-decide");
    day.work_up_to("fl-drive_look");
    day.work_up_to("fl-bottle_out");
    day.work_up_to("fl-gas_look");
    day.at_s += 60;
    let part = json!({"part": "wheel", "task": "fl-wheel", "where": "wheel_fl"});
    day.say(BEN, How::Did, "part", part);
    assert!(is_done(&day, "fl-wheel") && !is_done(&day, "fl-hose"));
}

/// A link that is shaken out loses the bout (common practice, no source): what held it is mended on
/// the machine that lost it, and on no other.
#[test]
fn a_link_shaken_out_calls_for_its_retention_and_the_proofs_after_it() {
    for (machine, mend) in [
        (Machine::FlipperHeavyweight, "fl-retention"),
        (Machine::SpinnerHeavyweight, "sp-retention"),
        (Machine::SmallMachine, "sm-retention"),
    ] {
        let after = |ended| Day::fought_and(machine, ended).today();
        let lost = after(json!({"ending": "link_shaken_out", "winner": Uuid::from_u128(99)}));
        assert!(ids(&lost).contains(&mend), "{machine:?}");
        let mended = lost.find(mend, None).unwrap();
        assert!(lost.items[mended].def.safety, "it cannot be left out");
        let nobody_won = after(json!({"ending": "link_shaken_out"}));
        assert!(ids(&nobody_won).contains(&mend));
        let won = after(json!({"ending": "link_shaken_out", "winner": ROBOT}));
        assert_eq!(ids(&won), ids(&after(json!({"winner": ROBOT}))));
        assert!(!ids(&won).contains(&mend));
    }
}

#[test]
fn damage_found_again_opens_the_repair_and_all_that_was_closed_after_it() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.damage("wheel_fl", "wheel_cut");
    day.work_up_to("fl-decide");
    day.work_up_to("fl-drive_look");
    day.task(BEN, "fl-wheel", "done");
    assert!(is_done(&day, "fl-wheel"));
    day.at_s += 600;
    day.damage("wheel_fl", "wheel_loose");
    assert!(matches!(progress(&day, "fl-wheel"), Progress::Open));
}

#[test]
fn a_repair_found_late_opens_what_facts_had_closed_after_it() {
    let mut day = Day::fought(Machine::SmallMachine);
    day.work_up_to("sm-decide");
    day.work_up_to("sm-drive_look");
    day.work_up_to("sm-link_look");
    day.at_s += 60;
    let fasteners = json!({"what": "fasteners", "found": "nothing"});
    day.work_up_to("sm-weapon_look");
    day.at_s += 60;
    day.say(BEN, How::Did, "check", fasteners);
    assert!(is_done(&day, "sm-fasteners"));
    day.at_s += 60;
    day.damage("wheel_l", "wheel_cut");
    assert!(
        !is_done(&day, "sm-fasteners"),
        "tight before the wheel was changed says nothing"
    );
}

#[test]
fn optional_work_is_left_out_and_safety_work_is_not() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.damage("wheel_fl", "wheel_cut");
    day.task(BEN, "fl-wheel", "left_out");
    let today = day.today();
    assert!(today.find("fl-wheel", None).is_none());
    assert_eq!(today.left_out.len(), 1);
    assert!(
        today.find("fl-weigh", None).is_none(),
        "nothing was changed"
    );
    day.task(BEN, "fl-prove", "left_out");
    assert!(day.today().find("fl-prove", None).is_some());
    day.at_s += 60;
    day.task(BEN, "fl-wheel", "started");
    assert!(matches!(
        progress(&day, "fl-wheel"),
        Progress::Running { .. }
    ));
}

#[test]
fn work_somebody_chose_is_on_the_list() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.task(BEN, "fl-setup", "chosen");
    let today = day.today();
    assert!(today.find("fl-setup", None).is_some());
    assert!(
        today.find("fl-weigh", None).is_some(),
        "a set-up is weighed"
    );
}

#[test]
fn a_running_task_says_who_and_since_when_and_hands_on_tells_the_hazards() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.work_up_to("fl-open");
    day.say(
        CAL,
        How::Did,
        "task",
        json!({"task": "fl-gas_look", "state": "started", "with": [BEN]}),
    );
    let today = day.today();
    let work = work(&day.pit, &today);
    assert_eq!(work.hands_on.len(), 1);
    assert_eq!(work.hands_on[0].people, [CAL, BEN]);
    assert!(work.hands_on[0].needs_gas_zero);
    assert!(work.rows_to_come.contains("in_queue") && !work.rows_to_come.contains("bar_on"));
}

#[test]
fn a_charge_gates_the_packs_only_without_another_set() {
    let mut day = Day::fought(Machine::SmallMachine);
    assert_eq!(day.today().gate, None, "the second set counts as charged");
    day.say(
        ANA,
        How::Did,
        "pack",
        json!({"set": SET_A, "place": "bench"}),
    );
    day.say(
        ANA,
        How::Saw,
        "pack",
        json!({"set": SET_B, "looks": "swollen"}),
    );
    let today = day.today();
    let (charge, packs) = today.gate.unwrap();
    assert_eq!(today.items[charge].key.task, "sm-charge");
    assert_eq!(today.items[packs].key.task, "sm-packs_in");
    day.work_up_to("sm-packs_out");
    day.at_s += 60;
    day.say(
        ANA,
        How::Did,
        "charge",
        json!({"set": SET_A, "state": "started"}),
    );
    assert!(is_done(&day, "sm-cool"));
    assert!(matches!(
        progress(&day, "sm-charge"),
        Progress::Running { .. }
    ));
    day.at_s += 60;
    day.say(
        ANA,
        How::Saw,
        "charge",
        json!({"set": SET_A, "state": "ended"}),
    );
    assert_eq!(day.today().gate, None);
    // On arrival a set nobody spoke of is not taken for charged.
    assert!(Day::arrives(Machine::SmallMachine).today().gate.is_some());
}

#[test]
fn a_pack_suspect_for_h17_is_ready_neither_for_the_gate_nor_for_the_table() {
    use crate::pit::exposure::WorkNow;
    use crate::pit::packs::Packs;
    let mut day = Day::fought(Machine::SmallMachine);
    let told = |day: &Day| {
        let now = start() + TimeDelta::seconds(day.at_s);
        let found = crate::pit::hazards::hazards(&day.pit, ROBOT, &WorkNow::default(), now);
        let h17 = found.value.iter().any(|hazard| hazard.rule == "H17");
        let packs = Packs::of(&day.pit, TEAM, now).sets[&SET_B].suspect;
        (h17, day.today().gate.is_some(), packs)
    };
    let looks = |looks: &str| json!({"set": SET_B, "looks": looks});
    day.say(
        ANA,
        How::Did,
        "pack",
        json!({"set": SET_A, "place": "bench"}),
    );
    assert_eq!(told(&day), (false, false, false));
    day.say(ANA, How::Saw, "pack", looks("hit"));
    assert_eq!(told(&day), (true, true, true));
    day.say(BEN, How::Saw, "pack", looks("fine"));
    assert_eq!(told(&day), (true, true, true), "not set aside");
    let aside = json!({"set": SET_B, "place": "quarantine"});
    day.say(ANA, How::Did, "pack", aside);
    day.at_s += 31 * 60;
    day.say(BEN, How::Saw, "pack", looks("fine"));
    assert_eq!(told(&day), (true, true, true), "one has looked");
    let cleared = json!({"rule": "H17", "said": "cleared"});
    day.say(CAL, How::Saw, "hazard", cleared);
    let bench = json!({"set": SET_B, "place": "bench"});
    day.say(ANA, How::Did, "pack", bench);
    assert_eq!(told(&day), (false, false, false));
}

#[test]
fn the_bottle_goes_in_where_the_event_says() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    let event = json!({"name": "E", "time_zone": "UTC", "first_day": "2027-01-15",
        "last_day": "2027-01-15", "settings": {"bottle_in_at": "queue"}});
    day.register(crate::pit::ids::Subject::Event, "register_event", event);
    let today = day.today();
    let order = ids(&today);
    let at = |id: &str| order.iter().position(|other| *other == id).unwrap();
    assert!(at("fl-queue") < at("fl-bottle_in") && at("fl-bottle_in") < at("fl-place"));
    assert!(!today.planned().contains(&at("fl-bottle_in")));
    day.damage("ram", "leak");
    let today = day.today();
    let order = ids(&today);
    let at = |id: &str| order.iter().position(|other| *other == id).unwrap();
    assert!(
        at("fl-bottle_in") < at("fl-close"),
        "a leak test needs the bottle"
    );
}

#[test]
fn tasks_of_a_block_are_one_unit() {
    let today = Day::fought(Machine::FlipperHeavyweight).today();
    let units = today.units(&today.planned());
    let safe: Vec<&str> = units[0]
        .members
        .iter()
        .map(|&index| today.items[index].key.task.as_str())
        .collect();
    assert_eq!(
        safe,
        [
            "fl-hold",
            "fl-bar_on",
            "fl-link_out",
            "fl-shut",
            "fl-dump",
            "fl-tx_off"
        ]
    );
    assert!(units[0].after.is_empty());
}

#[test]
fn what_is_on_the_list_only_for_a_repair_goes_with_it() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.damage("wheel_fl", "wheel_cut");
    let today = day.today();
    let wheel = today.find("fl-wheel", None).unwrap();
    let with: BTreeSet<&str> = today.conditional[&wheel]
        .iter()
        .map(|&index| today.items[index].key.task.as_str())
        .collect();
    assert_eq!(
        with,
        BTreeSet::from(["fl-weigh", "fl-t_arm", "fl-t_drive", "fl-t_safe"])
    );
    day.damage("electrics", "wire_cut");
    let today = day.today();
    let wheel = today.find("fl-wheel", None).unwrap();
    // The loom is safety work and asks for the drive test itself.
    let with: Vec<&str> = today.conditional[&wheel]
        .iter()
        .map(|&index| today.items[index].key.task.as_str())
        .collect();
    assert_eq!(with, ["fl-weigh"]);
}

#[test]
fn damage_found_on_arrival_is_repaired_before_closing_up() {
    let mut day = Day::arrives(Machine::FlipperHeavyweight);
    for (area, kind) in [
        ("wheel_fl", "wheel_cut"),
        ("ram", "rod_bent"),
        ("packs", "mount_broken"),
    ] {
        day.damage(area, kind);
    }
    let today = day.today();
    let order = ids(&today);
    let at = |id: &str| order.iter().position(|other| *other == id).unwrap();
    for repair in [
        "fl-wheel",
        "fl-prop",
        "fl-rod",
        "fl-unprop",
        "fl-pack_mount",
    ] {
        assert!(
            at("fla-walk") < at(repair) && at(repair) < at("fla-close"),
            "{repair}"
        );
    }
    assert!(at("fl-prop") < at("fl-rod") && at("fl-rod") < at("fl-unprop"));
    assert!(at("fl-pack_mount") < at("fla-packs_in") && at("fl-rod") < at("fla-bottle_in"));
}
