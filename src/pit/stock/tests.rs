//! Checks of spares: counts are the sum of lines, odds follow the running order.

use super::*;
use crate::calc::spares::{BoutsAhead, GivenBouts};
use crate::pit::ids::{BoutId, LineId, PartTypeId, Subject};
use crate::pit::logbook::stock::SpareState;
use crate::pit::logbook::{Body, How, Kind, Line, register::Machine};
use crate::pit::state::Pit;
use crate::pit::testing::{ANA, ROBOT, TEAM, line, robot, start};
use proptest::prelude::*;
use serde_json::{Value, json};
use uuid::Uuid;

const WHEEL: PartTypeId = PartTypeId(Uuid::from_u128(71));
const HEAVY: PartTypeId = PartTypeId(Uuid::from_u128(72));

fn about(n: u128, at_s: i64, subject: Subject, kind: &str, body: Value) -> Line {
    let kind = Kind::named(kind).unwrap();
    let body = Body::read(kind, &body, "").unwrap();
    Line {
        subject,
        how: kind.about_a_state().then_some(How::Did),
        ..line(n, at_s, ANA, How::Did, body)
    }
}

fn stock(n: u128, at_s: i64, body: Value) -> Line {
    about(n, at_s, Subject::Part(WHEEL), "stock", body)
}

fn swap_line(n: u128, at_s: i64, spare: PartTypeId, old: &str) -> Line {
    let body = json!({"part": "wheel", "spare": spare, "old": old});
    about(n, at_s, Subject::Robot(ROBOT), "part", body)
}

fn wheel(n: u128, id: PartTypeId, label: &str, mass_g: i32, units: i32) -> Line {
    about(
        n,
        0,
        Subject::Part(id),
        "register_part_type",
        json!({
            "team": TEAM, "label": label, "repair": "wheel", "mass_g": mass_g, "spares": 2,
            "fits": [{"robot": ROBOT, "units": units}],
            "prior": {"mean_per_1000_unit_bouts": 50, "worst_per_1000_unit_bouts": 120},
        }),
    )
}

fn known() -> Vec<Line> {
    let mut flipper = robot(Machine::FlipperHeavyweight);
    if let Body::RegisterRobot(body) = &mut flipper.body {
        body.limit_g = crate::calc::units::Mass::new(110_000);
    }
    vec![
        about(
            90,
            0,
            Subject::Team(TEAM),
            "register_team",
            json!({"name": "Quayside"}),
        ),
        flipper,
        wheel(91, WHEEL, "Wheel", 900, 4),
        wheel(92, HEAVY, "Steel wheel", 1_300, 0),
    ]
}

fn after(lines: &[Line]) -> Pit {
    Pit::fold(known().iter().chain(lines))
}

#[test]
fn counts_are_the_sum_of_the_lines() {
    let pit = after(&[
        stock(10, 10, json!({"came": {"units": 3, "as": "used"}})),
        swap_line(11, 20, WHEEL, "mend"),
        stock(
            12,
            30,
            json!({"became": {"units": 1, "from": "in_repair", "to": "tested"}}),
        ),
        stock(
            13,
            40,
            json!({"became": {"units": 2, "from": "used", "to": "lent"}}),
        ),
        stock(14, 50, json!({"went": {"units": 1, "as": "used"}})),
    ]);
    let shelf = shelf(&pit, WHEEL);
    // Two brought, three came, one fitted, one mended, two lent, one gone.
    assert_eq!(shelf.of(SpareState::New), 1);
    assert_eq!(shelf.of(SpareState::Tested), 1);
    assert_eq!(shelf.of(SpareState::Used), 0);
    assert_eq!(shelf.of(SpareState::Lent), 2);
    assert_eq!(shelf.ready(), 2);
    assert_eq!((shelf.failed(), shelf.unaccounted), (1, 0));
}

#[test]
fn what_was_not_there_is_noted_until_somebody_counts() {
    let swaps: Vec<Line> = (0..3)
        .map(|n| swap_line(10 + n, 10, WHEEL, "scrap"))
        .collect();
    let pit = after(&swaps);
    assert_eq!(shelf(&pit, WHEEL).unaccounted, 1);
    let counted = stock(20, 60, json!({"counted": {"units": 1, "as": "new"}}));
    let shelf = shelf(&pit.with(&counted), WHEEL);
    assert_eq!((shelf.unaccounted, shelf.ready()), (0, 1));
}

#[test]
fn a_withdrawn_swap_gives_its_spare_back() {
    let swapped = swap_line(10, 10, WHEEL, "scrap");
    let mut void = about(11, 20, Subject::Robot(ROBOT), "void", json!({}));
    void.corrects = Some(LineId(Uuid::from_u128(1010)));
    void.how = None;
    assert_eq!(shelf(&after(&[swapped.clone(), void]), WHEEL).ready(), 2);
    assert_eq!(shelf(&after(&[swapped]), WHEEL).ready(), 1);
}

fn bout(n: u128, number: i32, slots: Value) -> Line {
    let call = start() + chrono::TimeDelta::hours(i64::from(number));
    let body = json!({"number": number, "slots": slots, "call_at": call});
    about(
        n,
        0,
        Subject::Bout(BoutId(Uuid::from_u128(n))),
        "register_bout",
        body,
    )
}

fn chances(pit: &Pit) -> Vec<f64> {
    match bouts_ahead(pit, ROBOT) {
        BoutsAhead::Given(GivenBouts {
            probability_by_bouts,
        }) => probability_by_bouts,
        other => panic!("{other:?}"),
    }
}

/// Knock-out with even odds: P(B = b) = p^(b-1) (1-p), P(B = K) = p^(K-1). **Source** the closed
/// form of the spares page, section A3.
#[test]
fn bouts_ahead_follow_winner_of() {
    let other = crate::pit::ids::RobotId(Uuid::from_u128(3));
    let uuid = |n| Uuid::from_u128(n);
    let mut second = robot(Machine::FlipperHeavyweight);
    second.subject = Subject::Robot(other);
    second.seq = 93;
    second.id = LineId(uuid(93));
    if let Body::RegisterRobot(body) = &mut second.body {
        body.name = crate::calc::units::Name::new("Brass Heron").unwrap();
    }
    let lines = [
        second,
        bout(101, 1, json!([{"robot": ROBOT}, {"robot": other}])),
        bout(
            102,
            2,
            json!([{"winner": uuid(101)}, {"winner": uuid(199)}]),
        ),
        bout(
            103,
            3,
            json!([{"winner": uuid(102)}, {"winner": uuid(198)}]),
        ),
    ];
    let ahead = chances(&after(&lines));
    let expected = [0.0, 0.5, 0.25, 0.25];
    assert_eq!(ahead.len(), expected.len());
    for (found, expected) in ahead.iter().zip(expected) {
        assert!((found - expected).abs() < 1e-12, "{ahead:?}");
    }
    // It won: (1 + 1) / (1 + 2) from then on.
    let ended = about(
        110,
        60,
        Subject::Bout(BoutId(uuid(101))),
        "bout_ended",
        json!({"winner": ROBOT}),
    );
    let ahead = chances(&after(&lines).with(&ended));
    let expected = [0.0, 1.0 / 3.0, 2.0 / 3.0];
    for (found, expected) in ahead.iter().zip(expected) {
        assert!((found - expected).abs() < 1e-12, "{ahead:?}");
    }
}

#[test]
fn a_swap_that_may_put_it_over_says_so_before_it_is_done() {
    let weighed = about(
        10,
        10,
        Subject::Robot(ROBOT),
        "proof",
        json!({"what": "weight", "result": "within", "mass_g": 109_600}),
    );
    let pit = after(&[weighed]);
    let same = swap(&pit, ROBOT, WHEEL).unwrap();
    assert_eq!((same.heavier_g, same.may_be_over()), (0, false));
    let heavy = swap(&pit, ROBOT, HEAVY).unwrap();
    // 400 g heavier: at the limit itself, where a scale good to 100 g cannot tell.
    assert_eq!((heavy.mass_g, heavy.heavier_g), (110_000, 400));
    assert!(heavy.may_be_over());
    // Fitted since the weighing, it counts.
    let fitted = pit.with(&swap_line(11, 20, HEAVY, "scrap"));
    assert_eq!(swap(&fitted, ROBOT, HEAVY).unwrap().mass_g, 110_000);
    assert_eq!(swap(&fitted, ROBOT, WHEEL).unwrap().mass_g, 109_600);
}

#[test]
fn more_spares_never_make_it_worse() {
    let mut before = 0.0;
    for n in 0..4_u128 {
        let lines: Vec<Line> = (0..n)
            .map(|i| stock(20 + i, 20, json!({"came": {"units": 1, "as": "new"}})))
            .chain([bout(
                101,
                1,
                json!([{"robot": ROBOT}, {"winner": Uuid::from_u128(199)}]),
            )])
            .chain([bout(
                102,
                2,
                json!([{"robot": ROBOT}, {"winner": Uuid::from_u128(199)}]),
            )])
            .collect();
        let day = box_day(&after(&lines), TEAM, start()).unwrap();
        let wheel = day.parts.iter().find(|part| part.id == WHEEL).unwrap();
        let enough = day.enough(wheel).unwrap();
        assert!(
            enough > before && enough < 1.0,
            "{n}: {enough} after {before}"
        );
        before = enough;
    }
}

#[test]
fn a_table_written_is_read_back_as_it_was() {
    let pit = after(&[]);
    let day = box_day(&pit, TEAM, start()).unwrap();
    let text = table::write(&pit, &day);
    let back = table::read(&pit, TEAM, &text).unwrap();
    assert_eq!(back.len(), 2);
    for row in back {
        let known = &pit.part_types[&row.known.unwrap()].body;
        assert_eq!(&row.part, known);
    }
}

#[test]
fn every_fault_of_a_table_names_its_line() {
    let pit = after(&[]);
    let faults = table::read(
        &pit,
        TEAM,
        "label,spares,fits\nSeal,few,\n,2,\nPin,1,Nobody 3\n",
    )
    .unwrap_err();
    let all: Vec<String> = faults.into_iter().map(|fault| fault.detail).collect();
    assert!(all[0].contains("Line 2, spares"), "{all:?}");
    assert!(all[1].contains("Line 3, label"), "{all:?}");
    assert!(all[2].contains("no robot 'Nobody'"), "{all:?}");
    let unknown = table::read(&pit, TEAM, "label,mas_g\nSeal,2\n").unwrap_err();
    assert!(unknown[0].detail.contains("nearest is 'mass_g'"));
}

proptest! {
    /// Whatever is entered in whatever order: no count below nothing.
    #[test]
    fn no_count_falls_below_nothing(words in proptest::collection::vec((0..4_u8, 0..7_usize, 0..7_usize, 0..5_i32), 0..20)) {
        let lines: Vec<Line> = (0..).zip(&words).map(|(n, (word, a, b, units))| {
            let (a, b) = (SpareState::ALL[*a].as_str(), SpareState::ALL[*b].as_str());
            stock(10 + n, i64::try_from(n).unwrap(), match word {
                0 => json!({"came": {"units": units, "as": a}}),
                1 => json!({"went": {"units": units, "as": a}}),
                2 => json!({"became": {"units": units, "from": a, "to": b}}),
                _ => json!({"counted": {"units": units, "as": a}}),
            })
        }).collect();
        let shelf = shelf(&after(&lines), WHEEL);
        prop_assert!(shelf.units.values().all(|units| *units >= 0));
        prop_assert!(shelf.unaccounted >= 0);
        let mut shuffled = lines.clone();
        shuffled.reverse();
        prop_assert_eq!(super::shelf(&after(&shuffled), WHEEL).units, shelf.units);
    }
}

/// Nothing believed but one failure in twenty, very unsure, is a gamma of shape 1 and 20 unit-bouts;
/// 4 failures in 40 unit-bouts elsewhere at one half make it 3 and 40 (gamma-Poisson conjugacy and
/// power prior, Ibrahim and Chen 2000).
#[test]
fn what_was_seen_elsewhere_counts_at_its_discount() {
    let register = |elsewhere: Value| {
        let kind = "register_part_type";
        let body = json!({"team": TEAM, "label": "Bulkhead", "elsewhere": elsewhere,
            "fits": [{"robot": ROBOT, "units": 4}]});
        let bulkhead = PartTypeId(Uuid::from_u128(73));
        let pit = after(&[about(1, 0, Subject::Part(bulkhead), kind, body)]);
        let day = box_day(&pit, TEAM, start()).unwrap();
        let known = day.parts.iter().find(|part| part.id == bulkhead);
        known.unwrap().rate.rate
    };
    let at_half = register(json!({"failures": 4, "unit_bouts": 40}));
    assert!((at_half.shape - 3.0).abs() < 1e-9 && (at_half.unit_bouts - 40.0).abs() < 1e-9);
    let whole = register(json!({"failures": 4, "unit_bouts": 40, "weight_percent": 100}));
    assert!((whole.shape - 5.0).abs() < 1e-9 && (whole.unit_bouts - 60.0).abs() < 1e-9);
    let nothing = register(Value::Null);
    assert!((nothing.shape - 1.0).abs() < 1e-9 && (nothing.unit_bouts - 20.0).abs() < 1e-9);
}
