//! What the door lets in, and what it says to the rest.

use super::*;
use crate::pit::ids::{LineId, PersonId, RobotId};
use crate::pit::logbook::{How, Line, Role};
use serde_json::{Value, json};
use std::sync::atomic::{AtomicU32, Ordering};
use uuid::Uuid;

const OURS: TeamId = TeamId(Uuid::from_u128(1));
const THEIRS: TeamId = TeamId(Uuid::from_u128(2));
const ANA: PersonId = PersonId(Uuid::from_u128(3));
const OUR_ROBOT: RobotId = RobotId(Uuid::from_u128(4));
const THEIR_ROBOT: RobotId = RobotId(Uuid::from_u128(5));

fn who(role: Role, team: Option<TeamId>) -> Enterer {
    Enterer {
        author: Author {
            person: Some(ANA),
            role,
        },
        team,
    }
}

static MADE: AtomicU32 = AtomicU32::new(10_000);

/// A line with an id of its own.
fn draft(kind: &str, subject: Subject, body: Value) -> Draft {
    let kind = Kind::named(kind).unwrap();
    let n = MADE.fetch_add(1, Ordering::Relaxed);
    Draft {
        id: LineId(Uuid::from_u128(u128::from(n))),
        at: DateTime::from_timestamp(1_800_000_000, 0).unwrap(),
        seen_by: None,
        subject,
        how: kind.about_a_state().then_some(How::Did),
        corrects: None,
        if_revision: None,
        body: Body::read(kind, &body, "").unwrap(),
    }
}

fn pit() -> Pit {
    let robot = |team: TeamId, name: &str| json!({"team": team, "name": name, "machine": "spinner_heavyweight", "links": 1});
    let drafts = [
        draft(
            "register_team",
            Subject::Team(OURS),
            json!({"name": "Millrace"}),
        ),
        draft(
            "register_team",
            Subject::Team(THEIRS),
            json!({"name": "Kiln Lane"}),
        ),
        draft(
            "register_person",
            Subject::Person(ANA),
            json!({"team": OURS}),
        ),
        draft(
            "register_robot",
            Subject::Robot(OUR_ROBOT),
            robot(OURS, "Pewter Finch"),
        ),
        draft(
            "register_robot",
            Subject::Robot(THEIR_ROBOT),
            robot(THEIRS, "Zinc Weasel"),
        ),
    ];
    let lines: Vec<Line> = drafts
        .into_iter()
        .enumerate()
        .map(|(n, draft)| Line {
            event: crate::pit::ids::EventId(Uuid::nil()),
            seq: i64::try_from(n).unwrap() + 1,
            id: LineId(Uuid::from_u128(100 + n as u128)),
            at: draft.at,
            claimed_at: draft.at,
            clock_doubtful: false,
            recorded_at: draft.at,
            seen_by: None,
            entered_by: Author {
                person: None,
                role: Role::Organiser,
            },
            subject: draft.subject,
            how: draft.how,
            corrects: None,
            body: draft.body,
        })
        .collect();
    Pit::fold(&lines)
}

fn refused(result: Result<(), AppError>) -> Vec<String> {
    match result {
        Err(AppError::Refused(faults)) => faults.into_iter().map(|fault| fault.pointer).collect(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_crew_writes_about_its_own_robot_and_knows_no_other() {
    let crew = who(Role::Crew, Some(OURS));
    let link = |robot| draft("link", Subject::Robot(robot), json!({"state": "in"}));
    assert!(
        admit(&pit(), crew, &[link(OUR_ROBOT)], "/lines").is_ok(),
        "however unsafe it is"
    );
    assert!(matches!(
        admit(&pit(), crew, &[link(THEIR_ROBOT)], "/lines"),
        Err(AppError::Unknown)
    ));
    let danger = draft(
        "danger",
        Subject::Robot(THEIR_ROBOT),
        json!({"what": "fire"}),
    );
    assert!(
        admit(&pit(), crew, &[danger], "/lines").is_ok(),
        "danger may be told by anyone"
    );
}

#[test]
fn a_right_one_does_not_have_is_named() {
    let crew = who(Role::Crew, Some(OURS));
    let moved = draft("calls_moved", Subject::Event, json!({"by_min": 5}));
    assert!(matches!(
        admit(&pit(), crew, &[moved], "/lines"),
        Err(AppError::Forbidden { .. })
    ));
}

#[test]
fn everything_unknown_is_named_at_once() {
    let lead = who(Role::Lead, Some(OURS));
    let nobody = PersonId(Uuid::from_u128(999));
    let lines = [
        draft(
            "link",
            Subject::Robot(OUR_ROBOT),
            json!({"state": "out", "holder": {"person": nobody}}),
        ),
        draft("gas", Subject::Robot(OUR_ROBOT), json!({"valve": "shut"})),
        draft(
            "link",
            Subject::Robot(RobotId(Uuid::from_u128(998))),
            json!({"state": "out"}),
        ),
    ];
    assert_eq!(
        refused(admit(&pit(), lead, &lines, "/lines")),
        ["/lines/0/body/holder", "/lines/1/kind", "/lines/2/subject"]
    );
}

#[test]
fn damage_and_tasks_are_of_the_lists() {
    let crew = who(Role::Crew, Some(OURS));
    let robot = Subject::Robot(OUR_ROBOT);
    let lines = [
        draft(
            "damage",
            robot,
            json!({"area": "wheel_fl", "kind": "wheel_cut"}),
        ),
        draft(
            "damage",
            robot,
            json!({"area": "keel", "kind": "barnacles"}),
        ),
        draft(
            "task",
            robot,
            json!({"task": "sp-wheel", "state": "started", "instance": "wheel_fl"}),
        ),
        draft(
            "task",
            robot,
            json!({"task": "zz-wheel", "state": "started"}),
        ),
        draft("changed", robot, json!({"change": "paint"})),
    ];
    assert_eq!(
        refused(admit(&pit(), crew, &lines, "/lines")),
        [
            "/lines/1/body/area",
            "/lines/1/body/kind",
            "/lines/3/body/task",
            "/lines/4/body/change"
        ]
    );
}

#[test]
fn a_lead_registers_for_the_own_team_alone() {
    let lead = who(Role::Lead, Some(OURS));
    let new = Subject::Robot(RobotId(Uuid::from_u128(50)));
    let robot = |team: TeamId| {
        draft(
            "register_robot",
            new,
            json!({"team": team, "name": "New", "machine": "small_machine", "links": 1}),
        )
    };
    assert!(admit(&pit(), lead, &[robot(OURS)], "/lines").is_ok());
    assert!(matches!(
        admit(&pit(), lead, &[robot(THEIRS)], "/lines"),
        Err(AppError::Unknown)
    ));
}

#[test]
fn a_later_line_may_speak_of_what_an_earlier_one_registers() {
    let organiser = who(Role::Organiser, None);
    let team = TeamId(Uuid::from_u128(60));
    let new = draft(
        "register_team",
        Subject::Team(team),
        json!({"name": "Tollgate"}),
    );
    let robot = draft(
        "register_robot",
        Subject::Robot(RobotId(Uuid::from_u128(61))),
        json!({"team": team, "name": "Flint Magpie", "machine": "small_machine", "links": 1}),
    );
    assert!(admit(&pit(), organiser, &[new.clone(), robot.clone()], "/lines").is_ok());
    assert_eq!(
        refused(admit(&pit(), organiser, &[robot, new], "/lines")),
        ["/lines/0/body/team"]
    );
}

#[test]
fn a_correction_needs_its_target() {
    let mut void = draft("void", Subject::Robot(OUR_ROBOT), json!({}));
    void.corrects = Some(LineId(Uuid::from_u128(12345)));
    let crew = who(Role::Crew, Some(OURS));
    assert_eq!(
        refused(admit(&pit(), crew, &[void], "/lines")),
        ["/lines/0/corrects"]
    );
}

#[test]
fn two_lines_of_a_report_do_not_share_an_id() {
    let crew = who(Role::Crew, Some(OURS));
    let line = draft("link", Subject::Robot(OUR_ROBOT), json!({"state": "out"}));
    assert_eq!(
        refused(admit(&pit(), crew, &[line.clone(), line], "/lines")),
        ["/lines/1/id"]
    );
}

#[test]
fn a_crew_puts_its_own_right_and_not_what_a_marshal_saw() {
    use crate::auth::may_correct;
    for (role, entered_as, own, expected) in [
        (Role::Crew, Role::Crew, false, true),
        (Role::Crew, Role::Lead, false, true),
        (Role::Crew, Role::Marshal, false, false),
        (Role::Lead, Role::Official, false, false),
        (Role::Official, Role::Official, false, true),
        (Role::Official, Role::Crew, false, false),
        (Role::Marshal, Role::Crew, false, true),
        (Role::Wall, Role::Wall, false, false),
        (Role::Crew, Role::Crew, true, true),
    ] {
        assert_eq!(
            may_correct(role, entered_as, own),
            expected,
            "{role:?} {entered_as:?}"
        );
    }
}

#[test]
fn a_lead_registers_for_the_team_and_not_for_the_event() {
    let pit = pit();
    let lead = who(Role::Lead, Some(OURS));
    let drum = |team: Value| {
        let mut body = json!({"label": "drum", "kind": "lead", "rating_ma": 13_000});
        if !team.is_null() {
            body["team"] = team;
        }
        let subject = Subject::Circuit(crate::pit::ids::CircuitId(Uuid::from_u128(40)));
        draft("register_circuit", subject, body)
    };
    assert!(admit(&pit, lead, &[drum(json!(OURS))], "").is_ok());
    assert!(matches!(
        admit(&pit, lead, &[drum(json!(THEIRS))], ""),
        Err(AppError::Unknown)
    ));
    assert!(matches!(
        admit(&pit, lead, &[drum(Value::Null)], ""),
        Err(AppError::Forbidden { .. })
    ));
    // Nor is what was the team's given away to the event.
    let ana = draft("register_person", Subject::Person(ANA), json!({}));
    assert!(matches!(
        admit(&pit, lead, &[ana], ""),
        Err(AppError::Forbidden { .. })
    ));
}

#[test]
fn what_a_thing_is_registered_as_has_to_make_sense() {
    let pit = pit();
    let organiser = who(Role::Organiser, None);
    let id = Uuid::from_u128(41);
    let circuit = Subject::Circuit(crate::pit::ids::CircuitId(id));
    let part = Subject::Part(crate::pit::ids::PartTypeId(id));
    let set = Subject::Set(crate::pit::ids::SetId(id));
    let robot = Subject::Robot(OUR_ROBOT);
    let machine =
        json!({"team": OURS, "name": "Pewter Finch", "machine": "flipper_heavyweight", "links": 1});
    let with = |field: &str, value: Value| {
        let mut body = machine.clone();
        body[field] = value;
        body
    };
    let system = json!({"gas": "co2", "feed": "regulated", "bore_um": 100_000, "stroke_um": 250_000, "rod_um": 110_000});
    let wrong = [
        (
            "register_circuit",
            circuit,
            json!({"label": "G", "kind": "generator", "rating_ma": 9_000}),
            "/rating_ma",
        ),
        (
            "register_circuit",
            circuit,
            json!({"label": "G", "kind": "circuit", "coiled": true}),
            "/coiled",
        ),
        (
            "register_circuit",
            circuit,
            json!({"label": "G", "kind": "lead", "rating_ma": 5_000, "coiled_ma": 6_000}),
            "/coiled_ma",
        ),
        (
            "register_circuit",
            circuit,
            json!({"label": "G", "kind": "lead", "continuous_percent": 9}),
            "/continuous_percent",
        ),
        // The ratio of worst to mean that a gamma distribution can have: 1.05 to 3.84.
        (
            "register_part_type",
            part,
            json!({"team": OURS, "label": "wheel",
            "prior": {"mean_per_1000_unit_bouts": 50, "worst_per_1000_unit_bouts": 193}}),
            "/prior/worst_per_1000_unit_bouts",
        ),
        (
            "register_part_type",
            part,
            json!({"team": OURS, "label": "wheel",
            "fits": [{"robot": OUR_ROBOT, "units": 2}, {"robot": OUR_ROBOT, "units": 4}]}),
            "/fits/1/robot",
        ),
        (
            "register_set",
            set,
            json!({"team": OURS, "label": "A", "packs": [id], "strings": 2}),
            "/strings",
        ),
        (
            "register_robot",
            robot,
            with("configurations", json!([{"name": "lid"}, {"name": "Lid"}])),
            "/configurations/1/name",
        ),
        (
            "register_robot",
            robot,
            with("gas_system", system.clone()),
            "/gas_system/extend_pressure_mbar_gauge",
        ),
        (
            "register_robot",
            robot,
            with("gas_system", system),
            "/gas_system/rod_um",
        ),
    ];
    for (kind, subject, body, pointer) in wrong {
        match admit(&pit, organiser, &[draft(kind, subject, body.clone())], "") {
            Err(AppError::Refused(faults)) => assert!(
                faults
                    .iter()
                    .any(|fault| fault.pointer == format!("/0/body{pointer}")),
                "{body}: {faults:?}"
            ),
            other => panic!("{body}: {other:?}"),
        }
    }
}
