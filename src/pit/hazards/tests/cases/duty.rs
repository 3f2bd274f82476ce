//! Cases of duties and who is where.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let t = Told::flipper;
    let duty = |told: Told| told.takes(20, BEN, "link_remover");
    let other = |told: Told| {
        told.register(
            Subject::Robot(OTHER),
            "register_robot",
            json!({"team": TEAM, "name": "Slate Otter", "machine": "small_machine", "links": 1}),
        )
        .tell(
            25,
            BEN,
            How::Did,
            "task",
            json!({"task": "sma-walk", "state": "started"}),
        )
        .about(Subject::Robot(OTHER))
    };
    vec![
        duty(t())
            .ben_away()
            .at(30, "queue")
            .says("H29", "away, in the queue", HOLD),
        duty(t()).ben_away().says("H29", "away, on the bench", None),
        duty(t())
            .ben_away()
            .at(30, "queue")
            .takes(40, CAL, "link_remover")
            .says("H29", "handed over", None),
        duty(t()).ben_away().at(30, "queue").says_at(
            3_700,
            "H29",
            "back again, nobody said otherwise",
            HOLD,
        ),
        other(duty(t()))
            .at(30, "queue")
            .says("H29", "on another machine", HOLD),
        t().register(
            Subject::Robot(OTHER),
            "register_robot",
            json!({"team": TEAM, "name": "Slate Otter", "machine": "small_machine", "links": 1}),
        )
        .takes(20, BEN, "link_inserter")
        .at(30, "arena_load")
        .did(40, "link", json!({"state": "in"}))
        .did(50, "place", json!({"place": "arena"}))
        .about(Subject::Robot(OTHER))
        .takes(51, BEN, "driver")
        .about(Subject::Robot(OTHER))
        .says("H29", "a duty at two machines", HOLD),
        other(t()).at(30, "queue").says("H29", "no duty here", None),
        t().called()
            .open("Close up")
            .says_at(60, "H30", "called, time left", None),
        t().called()
            .open("Close up")
            .says_at(15 * MIN, "H30", "past its call", HOLD),
        t().called()
            .open("Close up")
            .at(60, "queue")
            .says("H30", "in the queue", HOLD),
        t().called()
            .at(60, "queue")
            .says("H30", "nothing open", None),
        t().called()
            .open("Close up")
            .did(60, "answered", json!({"answer": "ready"}))
            .says("H30", "said to be ready", HOLD),
        t().called()
            .open("Close up")
            .did(60, "answered", json!({"answer": {"need": 5}}))
            .says("H30", "said to need more", None),
        t().hands().says_at(29 * MIN, "H28", "seen lately", None),
        t().hands().says_at(30 * MIN, "H28", "too old", HOLD),
        t().says_at(30 * MIN, "H28", "too old, nobody exposed", None),
        t().saw(60, BEN, "weapon_bar", json!({"state": "off"}))
            .at(70, "queue")
            .says("H28", "disputed", HOLD),
    ]
}
