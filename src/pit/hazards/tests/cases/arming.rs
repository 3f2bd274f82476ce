//! Cases of arming and who is near.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let t = || Told::flipper().at(50, "arena_load");
    let armed = || {
        t().did(60, "link", json!({"state": "in"}))
            .did(70, "gas", json!({"valve": "open"}))
            .did(80, "weapon_bar", json!({"state": "off"}))
    };
    let early = || t().did(60, "weapon_bar", json!({"state": "off"}));
    let spinner = || {
        Told::of(Machine::SpinnerHeavyweight)
            .at(50, "arena_load")
            .did(60, "link", json!({"state": "in"}))
            .did(80, "weapon_bar", json!({"state": "off"}))
    };
    let before_gas = |setting: &str| {
        Told::flipper()
            .with_settings(json!({"bar_off": setting}))
            .at(50, "arena_load")
            .did(60, "link", json!({"state": "in"}))
            .did(80, "weapon_bar", json!({"state": "off"}))
    };
    let other = || {
        armed().register(Subject::Robot(OTHER), "register_robot", json!({"team": TEAM, "name": "Slate Otter", "machine": "small_machine", "links": 1}))
        .did(90, "place", json!({"place": "arena_load"})).about(Subject::Robot(OTHER))
        .did(95, "link", json!({"state": "in"})).about(Subject::Robot(OTHER))
    };
    vec![
        early().says("H05", "before the link", STOP),
        armed().says("H05", "in order", None),
        spinner().says("H05", "in order, without gas", None),
        before_gas("after_gas").says("H05", "before the gas", STOP),
        before_gas("before_gas").says("H05", "before the gas, as the event has it", None),
        early()
            .did(90, "link", json!({"state": "in"}))
            .did(95, "gas", json!({"valve": "open"}))
            .says("H05", "the order stays wrong", STOP),
        early()
            .did(90, "weapon_bar", json!({"state": "on"}))
            .says("H05", "back on", None),
        early()
            .did(90, "hazard", json!({"rule": "H05", "said": "cleared"}))
            .says("H05", "a crew's word", STOP),
        early()
            .did(90, "hazard", json!({"rule": "H05", "said": "cleared"}))
            .entered_as(Role::Marshal)
            .says("H05", "a marshal's word", None),
        armed()
            .saw(90, BEN, "inside", json!({"people": 3}))
            .says("H05", "three inside", STOP),
        armed()
            .saw(90, BEN, "inside", json!({"people": 2}))
            .says("H05", "two inside", None),
        t().did(60, "link", json!({"state": "in"}))
            .says("H27", "nobody named to watch", STOP),
        t().takes(55, BEN, "second_person")
            .did(60, "link", json!({"state": "in"}))
            .says("H27", "a second person", None),
        t().did(55, "duty", json!({"duty": "second_person", "who": BEN}))
            .did(60, "link", json!({"state": "in"}))
            .says("H27", "somebody asked who has not taken it", STOP),
        t().saw(55, BEN, "inside", json!({"people": 1, "watched": true}))
            .did(60, "link", json!({"state": "in"}))
            .says("H27", "somebody watches", None),
        t().says("H27", "link out", None),
        t().did(60, "link", json!({"state": "in"}))
            .did(70, "hazard", json!({"rule": "H27", "said": "cleared"}))
            .entered_as(Role::Marshal)
            .says("H27", "a marshal's word", None),
        other()
            .takes(97, BEN, "second_person")
            .saw(98, BEN, "inside", json!({"people": 1}))
            .says("H27", "inside while another is armed", STOP),
        other()
            .takes(97, BEN, "second_person")
            .saw(98, BEN, "inside", json!({"people": 0}))
            .says("H27", "nobody inside", None),
        other()
            .takes(97, BEN, "second_person")
            .says("H27", "nobody said who is inside", None),
    ]
}
