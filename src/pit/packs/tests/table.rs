//! The charging table: sets to bouts, packs to channels, and what the mains carry.

use super::*;
use crate::calc::battery::{LateCause, MainsVerdict};
use crate::pit::ids::{ChargerId, CircuitId};
use crate::pit::packs::table::{Table, ToCharge};

const OTHER_SET: SetId = SetId(Uuid::from_u128(32));
const LEAD: CircuitId = CircuitId(Uuid::from_u128(62));
const CHARGER: ChargerId = ChargerId(Uuid::from_u128(63));

impl Day {
    /// Two sets of one pack each, one channel on a lead of so many amperes.
    fn with_two_sets(rating_ma: i32) -> Self {
        let mut day = Self::with_packs(2, 1);
        for (set, label, n) in [(SET, "A", 1), (OTHER_SET, "B", 2)] {
            day.register(
                Subject::Set(set),
                "register_set",
                json!({"team": TEAM, "label": label, "packs": [pack(n)], "strings": 1, "robot": ROBOT}),
            );
        }
        day.register(
            Subject::Circuit(LEAD),
            "register_circuit",
            json!({"team": TEAM, "label": "lead", "kind": "lead", "rating_ma": rating_ma}),
        );
        day.register(
            Subject::Charger(CHARGER),
            "register_charger",
            json!({"team": TEAM, "label": "charger", "circuit": LEAD}),
        );
        day.channel(CHANNEL, "1");
        day
    }

    fn channel(&mut self, id: ChannelId, label: &str) {
        self.register(
            Subject::Channel(id),
            "register_channel",
            json!({"team": TEAM, "label": label, "max_current_ma": 5_000, "max_power_w": 300,
                "charger": CHARGER}),
        );
    }

    /// A bout of the robot that is called so many minutes from now.
    fn call(&mut self, n: u128, minutes: i64) {
        let at = self.now() + TimeDelta::minutes(minutes);
        self.register(
            Subject::Bout(BoutId(Uuid::from_u128(0x40 + n))),
            "register_bout",
            json!({"number": i64::try_from(n).unwrap(), "call_at": at,
                "slots": [{"robot": ROBOT}, {"robot": Uuid::from_u128(99)}]}),
        );
    }

    fn read_one(&mut self, set: SetId, millivolts: i32) {
        self.say(
            ANA,
            "pack",
            json!({"set": set, "cells_mv": vec![millivolts; 4]}),
        );
    }

    fn begin(&mut self, set: SetId) {
        let body = json!({"set": set, "channels": [CHANNEL], "state": "started", "watcher": ANA});
        self.say(ANA, "charge", body);
    }

    fn table(&self) -> Table {
        Table::of(&self.pit, TEAM, self.now())
    }
}

#[test]
fn the_full_set_goes_first_and_the_other_is_charged_for_the_next_bout() {
    let mut day = Day::with_two_sets(13_000);
    day.read_one(SET, 3700);
    day.read_one(OTHER_SET, 4180);
    day.call(1, 30);
    day.call(2, 120);
    let table = day.table();
    assert!(table.faults.is_empty(), "{:?}", table.faults);
    let [first, second] = table.bouts.as_slice() else {
        panic!("{:?}", table.bouts);
    };
    assert_eq!((first.set, first.charges), (Some(OTHER_SET), false));
    assert_eq!((second.set, second.charges), (Some(SET), true));
    let [charge] = table.to_charge.as_slice() else {
        panic!("{:?}", table.to_charge);
    };
    assert_eq!((charge.pack, charge.channel), (pack(1), CHANNEL));
    assert_eq!((charge.from, charge.amps), (day.now(), 5.0));
    // Ready by the call, five minutes before it to fit it.
    let spare = second.call - TimeDelta::minutes(5) - charge.to;
    assert!((second.slack.unwrap() - spare).num_seconds().abs() <= 1);
    assert!(second.slack.unwrap() > TimeDelta::zero());
}

#[test]
fn nothing_that_can_serve_is_said_and_not_made_up() {
    let mut day = Day::with_two_sets(13_000);
    day.call(1, 30);
    for set in [SET, OTHER_SET] {
        day.say(ANA, "pack", json!({"set": set, "looks": "hit"}));
    }
    let table = day.table();
    assert_eq!(table.bouts[0].set, None);
    assert_eq!(table.bouts[0].late, Some(LateCause::NoPack));
    assert!(table.to_charge.is_empty());
}

#[test]
fn packs_of_two_sets_are_never_mixed() {
    let mut day = Day::with_packs(4, 1);
    for (set, label, packs) in [
        (SET, "A", [pack(1), pack(2)]),
        (OTHER_SET, "B", [pack(3), pack(4)]),
    ] {
        day.register(
            Subject::Set(set),
            "register_set",
            json!({"team": TEAM, "label": label, "packs": packs, "robot": ROBOT}),
        );
    }
    // One pack of either set is full: no set is.
    let volts = |low: i32| json!([4180, 4180, 4180, 4180, low, low, low, low]);
    day.say(ANA, "pack", json!({"set": SET, "cells_mv": volts(3600)}));
    day.say(
        ANA,
        "pack",
        json!({"set": OTHER_SET, "cells_mv": volts(3800)}),
    );
    day.call(1, 90);
    let table = day.table();
    // B lacks less: it is ready sooner.
    assert_eq!(table.bouts[0].set, Some(OTHER_SET));
    assert_eq!(table.to_charge.len(), 1);
    assert_eq!(table.to_charge[0].pack, pack(4));
}

#[test]
fn a_charge_under_way_keeps_its_channel_until_its_time_is_over() {
    let mut day = Day::with_two_sets(13_000);
    day.read_one(SET, 3700);
    day.read_one(OTHER_SET, 3700);
    day.begin(SET);
    day.call(1, 90);
    day.call(2, 240);
    let table = day.table();
    let running = table.channels[0].running[0];
    assert_eq!(running.pack, pack(1));
    assert_eq!(table.bouts[0].set, Some(SET));
    assert_eq!(table.bouts[0].ready_at, Some(running.until));
    let charge = table.to_charge[0];
    assert_eq!(charge.pack, pack(2));
    assert!(charge.from >= running.until, "{charge:?} {running:?}");
    // Once the mains failed nobody knows what its charger does: it has to be charged anew.
    day.say(ANA, "charge", json!({"set": SET, "state": "interrupted"}));
    let table = day.table();
    assert!(table.to_charge.iter().any(|charge| charge.pack == pack(1)));
}

#[test]
fn a_lead_that_carries_one_charge_makes_the_next_one_wait() {
    // 5 A at 4 cells of 4.2 V are 84 W; over 0.85 and a power factor of 0.60 at 230 V that is 0.716 A.
    let load_a = 5.0 * 4.0 * 4.2 / 0.85 / 0.60 / 230.0;
    let with = |rating_ma: i32| {
        let mut day = Day::with_two_sets(rating_ma);
        day.channel(ChannelId(Uuid::from_u128(64)), "2");
        day.read_one(SET, 3700);
        day.read_one(OTHER_SET, 3700);
        day.begin(SET);
        day.call(1, 90);
        day.call(2, 240);
        day.table()
    };
    let of_b = |table: &Table| -> ToCharge {
        let mut charges = table.to_charge.iter();
        *charges.find(|charge| charge.pack == pack(2)).unwrap()
    };
    let wide = with(13_000);
    let until = wide.channels[0].running[0].until;
    assert!(of_b(&wide).from < until, "there is a second channel");
    let [mains] = wide.mains.as_slice() else {
        panic!("{:?}", wide.mains);
    };
    assert!((mains.peak.0 - 2.0 * load_a).abs() < 1e-6, "{mains:?}");
    assert_eq!(mains.verdict, Some(MainsVerdict::Within));
    assert!((mains.planned_a - 10.4).abs() < 1e-9);
    assert!((mains.running[0].1 - load_a).abs() < 1e-6);
    // 1 A planned with 80 % carries one such charge; a lowered second one, or one after it.
    let narrow = with(1_000);
    let charge = of_b(&narrow);
    assert!(charge.lowered || charge.from >= until, "{charge:?}");
    assert!(narrow.mains[0].peak.0 <= 0.8 + 1e-6, "{:?}", narrow.mains);
}
