//! What holds of every list, whatever was broken and changed.
//!
//! The rules are those of `safety.md`: nobody's hands in a live machine; one block from link in to
//! made safe again. The order in which lines arrive makes no difference.

use super::testing::*;
use super::*;
use crate::pit::library::tasks::{LinkIs, Phase};
use crate::pit::logbook::How;
use crate::pit::logbook::register::Machine;
use crate::pit::state::Pit;
use crate::pit::testing::{ANA, ROBOT};
use proptest::prelude::*;
use serde_json::json;

/// Damage a robot may come back with: (machine, picks of area and kind).
fn damage() -> impl Strategy<Value = (Machine, Vec<(usize, usize)>, Vec<usize>)> {
    (
        prop::sample::select(Machine::ALL.to_vec()),
        prop::collection::vec((0usize..12, 0usize..9), 0..8),
        prop::collection::vec(0usize..20, 0..3),
    )
}

fn hurt(machine: Machine, picks: &[(usize, usize)], changes: &[usize], arrival: bool) -> Day {
    let mut day = if arrival {
        Day::arrives(machine)
    } else {
        Day::fought(machine)
    };
    let known = crate::pit::library::damage(machine);
    for &(area, kind) in picks {
        let area = &known.areas[area % known.areas.len()];
        let kind = &area.kinds[kind % area.kinds.len()];
        day.damage(&area.id, kind);
    }
    let kinds = &crate::pit::library::data().changes.kinds;
    for &change in changes {
        let change = json!({"change": kinds[change % kinds.len()].id});
        day.say(ANA, How::Saw, "changed", change);
    }
    day
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn nothing_is_live_before_all_hands_are_out((machine, picks, changes) in damage(), arrival: bool) {
        let today = hurt(machine, &picks, &changes, arrival).today();
        let after: Vec<Vec<usize>> = today.items.iter().map(|item| item.after.clone()).collect();
        for (index, waits) in after.iter().enumerate() {
            prop_assert!(waits.iter().all(|&other| other < index), "order");
        }
        let far = graph::far(&after);
        let live = |item: &Item| {
            item.def.needs.link == Some(LinkIs::In)
                && !matches!(item.def.phase, Phase::MakeSafe | Phase::Recover)
        };
        for (index, item) in today.items.iter().enumerate().filter(|(_, item)| live(item)) {
            for (other, hands) in today.items.iter().enumerate() {
                let bench = hands.def.place == crate::pit::library::tasks::Spot::PitBench
                    && hands.def.phase != Phase::Queue;
                if hands.def.hands_on() && bench {
                    prop_assert!(far[index].contains(&other), "{} before {}", hands.key.task, item.key.task);
                }
            }
        }
        // From link in to made safe again nothing else comes between.
        let units = today.units(&(0..today.items.len()).collect());
        for unit in units.iter().filter(|unit| unit.members.len() > 1) {
            for pair in unit.members.windows(2) {
                prop_assert!(far[pair[1]].contains(&pair[0]), "a block is a chain");
            }
        }
    }

    #[test]
    fn the_list_is_the_same_in_whatever_order_lines_arrive(
        (machine, picks, changes) in damage(),
        seed in any::<u64>(),
    ) {
        let mut day = hurt(machine, &picks, &changes, false);
        day.work_up_to(&format!("{}-walk", prefix(machine)));
        let mut lines = day.lines.clone();
        let mut state = seed | 1;
        for index in (1..lines.len()).rev() {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            let other = usize::try_from(state % (u64::try_from(index).unwrap() + 1)).unwrap();
            lines.swap(index, other);
        }
        let shuffled = today(&Pit::fold(&lines), ROBOT).unwrap();
        let straight = day.today();
        prop_assert_eq!(keys(&straight), keys(&shuffled));
        for (a, b) in straight.items.iter().zip(&shuffled.items) {
            prop_assert_eq!(&a.progress, &b.progress);
        }
    }
}

fn keys(today: &Today) -> Vec<&TaskKey> {
    today.items.iter().map(|item| &item.key).collect()
}
