//! What people say about a hazard, and what it changes.

use super::*;
use crate::pit::hazards::Word;
use crate::pit::logbook::hall;

fn said(n: u128, at_s: i64, who: PersonId, rule: &str, said: Said) -> Line {
    let word = hall::Hazard {
        rule: crate::calc::units::Word::new(rule).unwrap(),
        said,
        because: Note::new("spare is in the trolley").ok(),
    };
    Line {
        how: None,
        ..line(n, at_s, who, How::Saw, Body::Hazard(word))
    }
}

fn hazard(lines: &[Line], rule: &str, at_s: i64) -> Option<Hazard> {
    let pit = Pit::fold(lines);
    hazards(&pit, ROBOT, &idle(), start() + TimeDelta::seconds(at_s))
        .value
        .into_iter()
        .find(|hazard| hazard.rule == rule)
}

fn word(who: PersonId, at_s: i64) -> Word {
    Word {
        who,
        at: start() + TimeDelta::seconds(at_s),
    }
}

/// Wheels on the ground: a warning.
fn off_its_stand() -> Vec<Line> {
    let mut lines = made_safe();
    let stand = crate::pit::logbook::machine::Stand {
        clear: false,
        place: None,
    };
    lines.push(line(10, 10, ANA, How::Saw, Body::Stand(stand)));
    lines
}

#[test]
fn it_says_who_has_it_open_since_it_began() {
    let mut lines = off_its_stand();
    lines.push(said(11, 5, CAL, "H23", Said::Seen));
    lines.push(said(12, 20, BEN, "H23", Said::Seen));
    let life = hazard(&lines, "H23", 30).unwrap().life;
    assert_eq!(life.seen_by, [word(BEN, 20)]);
    assert!(!life.reopened, "seen before is not over before");
}

#[test]
fn a_warning_is_accepted_with_its_reason_and_a_stop_now_never() {
    let mut lines = off_its_stand();
    lines.push(said(11, 20, BEN, "H23", Said::Accepted));
    let accepted = hazard(&lines, "H23", 30).unwrap().life.accepted;
    assert_eq!(
        accepted,
        Some((word(BEN, 20), "spare is in the trolley".to_owned()))
    );

    // The link goes in: the warning is a hold now, and what was accepted was less.
    lines.push(line(12, 40, BEN, How::Did, link(LinkState::In)));
    lines.push(said(13, 50, BEN, "H01", Said::Accepted));
    assert_eq!(hazard(&lines, "H23", 60).unwrap().life.accepted, None);
    let stop = hazard(&lines, "H01", 60).unwrap();
    assert_eq!(
        (stop.severity(), stop.life.accepted),
        (Severity::StopNow, None)
    );
}

#[test]
fn a_word_that_it_is_over_does_not_end_what_is_still_so() {
    let mut lines = off_its_stand();
    lines.push(said(11, 20, BEN, "H23", Said::Cleared));
    let life = hazard(&lines, "H23", 30)
        .expect("the wheels are still on the ground")
        .life;
    assert_eq!(life.cleared_by, [word(BEN, 20)]);
}

#[test]
fn what_comes_again_after_it_was_over_is_open_again() {
    let mut lines = off_its_stand();
    lines.push(said(11, 20, BEN, "H23", Said::Cleared));
    let stand = |clear| Body::Stand(crate::pit::logbook::machine::Stand { clear, place: None });
    lines.push(line(12, 30, BEN, How::Did, stand(true)));
    assert_eq!(hazard(&lines, "H23", 31), None);
    lines.push(line(13, 40, BEN, How::Saw, stand(false)));
    let life = hazard(&lines, "H23", 41).unwrap().life;
    assert!(life.reopened);
    assert_eq!(life.cleared_by, []);
}
