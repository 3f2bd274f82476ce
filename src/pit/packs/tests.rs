//! Packs from their lines: charge, rest, quarantine, and sets.

use super::story::SocBasis;
use super::{PackNow, Packs, ReadBack, SetNow, storage};
use crate::calc::battery::{HealthVerdict, ServingVerdict, SetPartVerdict, StorageStep};
use crate::pit::ids::{BoutId, ChannelId, PackId, PersonId, SetId, Subject};
use crate::pit::logbook::{Author, Body, How, Kind, Line, Role};
use crate::pit::state::Pit;
use crate::pit::testing::{ANA, BEN, ROBOT, TEAM, line, start};
use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;
use serde_json::{Value, json};
use uuid::Uuid;

mod table;

const SET: SetId = SetId(Uuid::from_u128(31));
const BOUT: BoutId = BoutId(Uuid::from_u128(21));
const CHANNEL: ChannelId = ChannelId(Uuid::from_u128(61));

fn pack(n: u128) -> PackId {
    PackId(Uuid::from_u128(0x50 + n))
}

/// A robot with one set of so many packs, and what happens to it.
#[derive(Clone)]
struct Day {
    pit: Pit,
    lines: u128,
    minute: i64,
}

impl Day {
    /// Packs of four cells; `strings` of them side by side.
    fn with_packs(packs: u128, strings: u32) -> Self {
        let mut day = Self {
            pit: Pit::default(),
            lines: 0,
            minute: 0,
        };
        day.register(
            Subject::Robot(ROBOT),
            "register_robot",
            json!({"team": TEAM, "name": "Pewter Finch", "machine": "small_machine", "links": 1,
                "electrics": {"bout_charge_mah": 2000, "peak_current_ma": 60_000, "parts": [
                    {"name": "drive controller", "limit_mv": 50_000},
                    {"name": "valves", "rated_mv": 24_000}]}}),
        );
        for n in 1..=packs {
            day.register(
                Subject::Pack(pack(n)),
                "register_pack",
                json!({"team": TEAM, "label": format!("A{n}"), "chemistry": "nmc", "cells": 4,
                    "capacity_mah": 5000, "cell_resistance_uohm": 3000}),
            );
        }
        let own: Vec<PackId> = (1..=packs).map(pack).collect();
        day.register(
            Subject::Set(SET),
            "register_set",
            json!({"team": TEAM, "label": "A", "packs": own, "strings": strings, "robot": ROBOT}),
        );
        day.register(
            Subject::Channel(CHANNEL),
            "register_channel",
            json!({"team": TEAM, "label": "1", "max_current_ma": 5_000, "max_power_w": 300}),
        );
        day
    }

    fn now(&self) -> DateTime<Utc> {
        start() + TimeDelta::minutes(self.minute)
    }

    fn register(&mut self, subject: Subject, kind: &str, body: Value) {
        self.take(subject, kind, ANA, body);
    }

    fn say(&mut self, who: PersonId, kind: &str, body: Value) {
        self.take(Subject::Robot(ROBOT), kind, who, body);
    }

    fn take(&mut self, subject: Subject, kind: &str, who: PersonId, body: Value) {
        self.lines += 1;
        let kind = Kind::named(kind).unwrap();
        let body = Body::read(kind, &body, "").unwrap();
        let new = Line {
            subject,
            entered_by: Author {
                person: Some(who),
                role: Role::Crew,
            },
            ..line(self.lines, self.minute * 60, who, How::Saw, body)
        };
        self.pit = self.pit.with(&new);
    }

    fn read(&mut self, millivolts: &[i32]) {
        self.say(ANA, "pack", json!({"set": SET, "cells_mv": millivolts}));
    }

    /// A charge of the set begins on the one channel.
    fn charge(&mut self) {
        let body = json!({"set": SET, "channels": [CHANNEL], "state": "started", "watcher": ANA,
            "read_back_by": BEN});
        self.say(ANA, "charge", body);
    }

    /// The set goes in and through a bout.
    fn fight(&mut self) {
        self.say(ANA, "pack", json!({"set": SET, "place": "machine"}));
        self.minute += 5;
        let other = Uuid::from_u128(99);
        self.register(
            Subject::Bout(BOUT),
            "register_bout",
            json!({"number": 1, "slots": [{"robot": ROBOT}, {"robot": other}], "call_at": self.now()}),
        );
        self.take(Subject::Bout(BOUT), "bout_ended", ANA, json!({}));
    }

    fn packs(&self) -> Packs {
        Packs::of(&self.pit, TEAM, self.now())
    }

    fn one(&self) -> PackNow {
        self.packs().packs[&pack(1)].clone()
    }

    fn set(&self) -> SetNow {
        self.packs().sets[&SET].clone()
    }
}

#[test]
fn four_packs_as_two_in_series_and_two_side_by_side_give_28_8_volts() {
    // Common practice, no source: 4-cell packs, 3.6 V a cell, a controller limit of 50 V, 24 V valves.
    let day = Day::with_packs(4, 2);
    let given = day.set().arithmetic.unwrap();
    assert_eq!(given.series_cells, 8);
    assert!((given.nominal_v - 28.8).abs() < 1e-9);
    assert!((given.capacity_ah - 10.0).abs() < 1e-9);
    let verdicts: Vec<SetPartVerdict> = given.parts.iter().map(|part| part.verdict).collect();
    assert_eq!(
        verdicts,
        [SetPartVerdict::Accepted, SetPartVerdict::AboveRating]
    );
    // All four in series stay above the limit when full: 16 cells of 4.2 V are 67.2 V.
    let given = Day::with_packs(4, 1).set().arithmetic.unwrap();
    assert!((given.full_v - 67.2).abs() < 1e-9);
    assert_eq!(given.parts[0].verdict, SetPartVerdict::AboveLimit);
}

#[test]
fn a_set_that_nobody_read_is_unproved_and_a_full_one_serves() {
    let mut day = Day::with_packs(1, 1);
    assert_eq!(day.set().serves, ServingVerdict::Unproved);
    assert_eq!(day.one().condition.verdict, HealthVerdict::Unproved);
    day.read(&[4180, 4180, 4178, 4180]);
    let set = day.set();
    assert_eq!(set.serves, ServingVerdict::Serves, "{:?}", set.reasons);
    assert_eq!(day.one().condition.verdict, HealthVerdict::Fit);
    // Hardly half full for a bout of two ampere-hours of five.
    day.minute += 10;
    day.read(&[3650, 3650, 3650, 3650]);
    assert_eq!(day.set().serves, ServingVerdict::DoesNotServe);
}

#[test]
fn a_reading_with_the_wrong_count_is_doubtful_and_holds_the_pack() {
    let mut day = Day::with_packs(2, 1);
    day.read(&[4180, 4180, 4180, 4180]);
    let one = day.one();
    assert!(one.story.readings.is_empty());
    assert_eq!(one.condition.verdict, HealthVerdict::Hold);
    assert!(one.condition.reasons[0].detail.contains("for 8 cells"));
    day.read(&[4180; 8]);
    assert_eq!(day.one().story.doubtful, None);
    // A cell at 4.9 V is no cell of this kind: doubtful, not full.
    day.minute += 1;
    day.read(&[4900, 4180, 4180, 4180, 4180, 4180, 4180, 4180]);
    assert!(day.one().story.doubtful.is_some());
    assert_eq!(day.one().condition.verdict, HealthVerdict::Hold);
}

#[test]
fn a_charge_is_ready_by_its_channel_and_later_when_packs_share_it() {
    let mut alone = Day::with_packs(1, 1);
    alone.read(&[3850; 4]);
    alone.charge();
    let one = alone.one();
    let charge = one.story.charge.clone().unwrap();
    assert_eq!(charge.read_back, ReadBack::Named(BEN), "named by Ana only");
    assert!(charge.ready_min > charge.likely_min);
    // 5 Ah from about 0.54 at 5 A: what is missing is 2.3 Ah, so at least 27 min at that current.
    let missing = (0.95 - charge.start_soc) * 5.0 / 5.0 * 60.0;
    assert!(charge.likely_min > missing, "{charge:?}");
    assert!(charge.likely_min < 2.0 * missing, "{charge:?}");
    let ready = alone.packs().ready(&alone.pit, alone.now());
    assert_eq!(ready.get(&ROBOT), one.ready_at.as_ref());
    let mut shared = Day::with_packs(2, 1);
    shared.read(&[3850; 8]);
    shared.charge();
    assert!(shared.one().story.charge.unwrap().likely_min > 1.5 * charge.likely_min);
}

#[test]
fn a_charge_cut_short_is_never_taken_for_full() {
    let mut day = Day::with_packs(1, 1);
    day.read(&[3700; 4]);
    let before = day.one().soc().unwrap();
    day.charge();
    day.minute += 5;
    day.say(ANA, "charge", json!({"set": SET, "state": "ended"}));
    let one = day.one();
    let (soc, basis) = one.story.soc.unwrap();
    assert!(matches!(basis, SocBasis::Charged(_)));
    assert_eq!(soc.low_fraction, before.low_fraction);
    assert!(soc.likely_fraction < 0.6);
    assert_eq!(one.ready_at, None);
    // The same charge run to its end is full.
    day.charge();
    day.minute += 180;
    day.say(ANA, "charge", json!({"set": SET, "state": "ended"}));
    assert!(day.one().soc().unwrap().low_fraction > 0.9);
}

#[test]
fn a_counted_charge_from_rest_to_full_tells_the_capacity() {
    let mut day = Day::with_packs(1, 1);
    day.read(&[3400; 4]);
    let start = day.one().soc().unwrap().likely_fraction;
    assert!(start < 0.3, "{start}");
    let charge = |day: &mut Day, mah: i32, full: bool| {
        day.charge();
        day.minute += 30;
        let body = json!({"set": SET, "state": "ended", "charged_mah": mah, "full": full});
        day.say(ANA, "charge", body);
    };
    let mut cut = day.clone();
    charge(&mut cut, 3600, false);
    assert_eq!(cut.one().condition.capacity, None, "cut short");
    assert!(cut.one().soc().unwrap().low_fraction < 0.9);
    // Q = Ah / (s1 - s0): what went in over the part of the charge it filled.
    charge(&mut day, 3600, true);
    let one = day.one();
    let capacity = one.condition.capacity.unwrap();
    assert!((capacity.capacity_ah - 3.6 / (1.0 - start)).abs() < 1e-9);
    assert!(one.soc().unwrap().low_fraction > 0.9, "said to be full");
}

#[test]
fn only_a_second_persons_own_word_reads_settings_back_and_a_power_cut_asks_again() {
    let mut day = Day::with_packs(1, 1);
    day.charge();
    let read_back = |day: &Day| day.one().story.charge.unwrap().read_back;
    day.say(ANA, "charge", json!({"set": SET, "read_back_by": ANA}));
    assert_eq!(
        read_back(&day),
        ReadBack::Named(BEN),
        "she set it up herself"
    );
    day.say(BEN, "charge", json!({"set": SET, "read_back_by": BEN}));
    assert_eq!(read_back(&day), ReadBack::Done(BEN, day.now()));
    day.minute += 3;
    day.say(ANA, "charge", json!({"set": SET, "state": "interrupted"}));
    assert_eq!(read_back(&day), ReadBack::Nobody);
    assert!(day.one().story.charge.unwrap().interrupted.is_some());
    day.say(BEN, "charge", json!({"set": SET, "read_back_by": BEN}));
    assert_eq!(day.one().story.charge.unwrap().interrupted, None);
}

#[test]
fn quarantine_ends_by_two_people_after_its_time_and_never_by_time() {
    let mut day = Day::with_packs(2, 1);
    let suspect = |day: &Day| day.one().story.suspect;
    let fine = json!({"pack": pack(1), "looks": "fine"});
    day.say(ANA, "pack", json!({"pack": pack(1), "looks": "hot"}));
    assert_eq!(suspect(&day).unwrap().observe_until, None, "not set aside");
    assert!(day.set().suspect);
    assert_eq!(day.packs().packs[&pack(2)].story.suspect, None);
    let aside = json!({"pack": pack(1), "place": "quarantine"});
    day.say(ANA, "pack", aside.clone());
    let until = suspect(&day).unwrap().observe_until;
    assert_eq!(until, Some(day.now() + TimeDelta::minutes(30)));
    // Too early, however many look.
    day.minute += 10;
    day.say(BEN, "pack", fine.clone());
    day.say(ANA, "pack", fine.clone());
    assert!(suspect(&day).is_some());
    // Fetched back early, its time begins anew.
    day.say(ANA, "pack", json!({"pack": pack(1), "place": "bench"}));
    assert_eq!(suspect(&day).unwrap().observe_until, None);
    day.say(ANA, "pack", aside);
    let until = suspect(&day).unwrap().observe_until;
    assert_eq!(until, Some(day.now() + TimeDelta::minutes(30)));
    // A day later: a word about all packs or the whole set is no look at this one.
    day.minute += 24 * 60;
    for who in [ANA, BEN] {
        day.say(who, "pack", json!({"sets": "all", "looks": "fine"}));
        day.say(who, "pack", json!({"set": SET, "looks": "fine"}));
    }
    assert_eq!(suspect(&day).unwrap().cleared_by, None);
    assert_eq!(day.one().condition.verdict, HealthVerdict::Quarantine);
    // One person twice is one person; another's word under H17 is the second.
    day.say(BEN, "pack", fine.clone());
    day.say(BEN, "pack", fine.clone());
    let cleared = json!({"rule": "H17", "said": "cleared"});
    day.say(BEN, "hazard", cleared.clone());
    assert!(suspect(&day).is_some());
    day.say(ANA, "hazard", cleared);
    assert_eq!(suspect(&day), None);
    // Swollen is for good.
    let body = json!({"pack": pack(1), "looks": "swollen", "place": "quarantine"});
    day.say(ANA, "pack", body);
    day.minute += 60;
    day.say(BEN, "pack", fine.clone());
    day.say(ANA, "pack", fine);
    assert!(suspect(&day).is_some());
}

#[test]
fn a_bout_takes_charge_counts_cycles_and_starts_the_rest() {
    let mut day = Day::with_packs(1, 1);
    day.read(&[4180; 4]);
    let full = day.one().soc().unwrap();
    day.fight();
    let one = day.one();
    let left = one.soc().unwrap();
    // Two of five ampere-hours, a quarter more at worst.
    assert!((full.likely_fraction - left.likely_fraction - 0.4).abs() < 1e-9);
    assert!((full.low_fraction - left.low_fraction - 0.5).abs() < 1e-9);
    assert_eq!((one.story.bouts, one.story.bouts_since_charge), (1, 1));
    assert!((one.condition.full_cycles - 0.4).abs() < 1e-9);
    day.minute += 10;
    day.read(&[3850; 4]);
    assert!(!day.one().story.last_reading().unwrap().rested);
    day.minute += 25;
    day.read(&[3850; 4]);
    assert!(day.one().story.last_reading().unwrap().rested);
    // What the charger counts replaces what was assumed.
    day.charge();
    day.minute += 120;
    let body = json!({"set": SET, "state": "ended", "charged_mah": 1500});
    day.say(ANA, "charge", body);
    assert!((day.one().condition.full_cycles - 0.3).abs() < 1e-9);
    assert_eq!(day.one().story.counted_bouts_ah, [1.5]);
}

#[test]
fn a_warm_pack_waits_until_it_has_cooled() {
    let mut day = Day::with_packs(1, 1);
    day.say(ANA, "pack", json!({"pack": pack(1), "pack_c": 45}));
    let cooling = day.one().cooling.unwrap();
    // Newton's law of cooling by hand: 30 min x ln((45 - 25) / (35 - 25)) = 20.8 min.
    let wait = cooling.cool_at.unwrap() - day.now();
    assert!((wait.num_seconds() - 1248).abs() <= 1, "{wait}");
    day.minute += 21;
    assert_eq!(day.one().cooling, None);
}

#[test]
fn a_full_pack_is_brought_down_for_the_night_and_one_on_charge_left_alone() {
    let mut day = Day::with_packs(1, 1);
    assert_eq!(storage(&day.one()), None, "nobody knows what it holds");
    day.read(&[4180; 4]);
    let output = storage(&day.one()).unwrap();
    // Stored at 3.85 V a cell: hobby guidelines, 3.80 to 3.90 V.
    assert_eq!(output.step, StorageStep::Discharge);
    assert!(output.moved_ah > 1.0 && output.moved_ah < 3.0, "{output:?}");
    day.minute += 1;
    day.read(&[3850; 4]);
    assert_eq!(storage(&day.one()).unwrap().step, StorageStep::Leave);
    day.charge();
    assert_eq!(storage(&day.one()), None);
}

proptest! {
    #[test]
    fn fuller_at_the_start_is_never_ready_later(low in 3200_i32..3900, more in 0_i32..200) {
        let ready = |mv: i32| {
            let mut day = Day::with_packs(1, 1);
            day.read(&[mv; 4]);
            day.charge();
            day.one().ready_at.unwrap()
        };
        prop_assert!(ready(low + more) <= ready(low));
    }

    #[test]
    fn no_wait_clears_a_suspect_pack(minutes in 0_i64..100_000) {
        let mut day = Day::with_packs(1, 1);
        day.say(ANA, "pack", json!({"set": SET, "place": "quarantine"}));
        day.minute += minutes;
        prop_assert!(day.one().story.suspect.is_some());
        prop_assert_eq!(day.set().serves, ServingVerdict::DoesNotServe);
    }
}
