//! Cases of links, their holders and transmitters.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let nobody = || {
        let mut told = Told::flipper();
        told.lines
            .retain(|line| !matches!(line.body, Body::Link(_)));
        told.did(20, "link", json!({"state": "out"}))
    };
    let t = Told::flipper;
    let driven = || t().with_robot(|robot| robot.driver = Some(BEN));
    vec![
        nobody()
            .at(30, "queue")
            .says("H08", "out, with nobody, in the queue", HOLD),
        nobody()
            .hands()
            .says("H08", "out, with nobody, hands in", STOP),
        nobody().says("H08", "out, with nobody, nobody exposed", None),
        nobody()
            .at(30, "queue")
            .saw(
                40,
                BEN,
                "link",
                json!({"state": "out", "holder": {"person": BEN}}),
            )
            .says("H08", "holder named", None),
        t().saw(20, BEN, "count", json!({"what": "links", "missing": 1}))
            .says("H08", "one missing", HOLD),
        t().saw(20, BEN, "count", json!({"what": "links", "missing": 1}))
            .saw(90, BEN, "count", json!({"what": "links", "missing": 0}))
            .says("H08", "found", None),
        t().saw(
            20,
            BEN,
            "count",
            json!({"what": "tools and fasteners", "missing": 1}),
        )
        .says("H08", "a tool missing", None),
        t().did(20, "transmitter", json!({"state": "on"}))
            .says("H09", "on at the bench", HOLD),
        t().did(20, "transmitter", json!({"state": "on"}))
            .did(30, "link", json!({"state": "in"}))
            .says("H09", "on with the link in", STOP),
        t().at(10, "test_area")
            .did(20, "transmitter", json!({"state": "on"}))
            .says("H09", "on in the test area", None),
        t().did(20, "transmitter", json!({"state": "on"}))
            .did(30, "transmitter", json!({"state": "off"}))
            .says("H09", "off again", None),
        driven()
            .did(20, "transmitter", json!({"state": "off", "with": CAL}))
            .hands()
            .says("H09", "with another, hands in", HOLD),
        driven()
            .did(20, "transmitter", json!({"state": "off", "with": CAL}))
            .says("H09", "with another, nobody exposed", None),
        driven()
            .did(
                20,
                "transmitter",
                json!({"state": "off", "with": CAL, "boxed": true}),
            )
            .hands()
            .says("H09", "boxed", None),
        driven()
            .did(20, "transmitter", json!({"state": "off", "with": BEN}))
            .hands()
            .says("H09", "with the driver", None),
        driven()
            .hands()
            .says_at(20, "H09", "nobody said with whom", None),
        t().with_robot(|robot| robot.transmitters = Count::new(2).unwrap())
            .did(20, "transmitter", json!({"state": "on", "second": true}))
            .says("H09", "the second one on", HOLD),
        t().saw(20, BEN, "power_light", json!({"state": "lit"}))
            .says("H11", "lit with the link out", HOLD),
        t().saw(20, BEN, "power_light", json!({"state": "lit"}))
            .hands()
            .says("H11", "lit with hands in", STOP),
        t().did(20, "link", json!({"state": "in"}))
            .saw(30, BEN, "power_light", json!({"state": "dark"}))
            .says("H11", "dark with the link in", HOLD),
        t().saw(20, BEN, "power_light", json!({"state": "dark"}))
            .did(30, "link", json!({"state": "in"}))
            .says("H11", "dark before the link went in", None),
        t().saw(20, BEN, "power_light", json!({"state": "absent"}))
            .says("H11", "none to be seen", HOLD),
        t().saw(20, BEN, "power_light", json!({"state": "absent"}))
            .saw(30, BEN, "power_light", json!({"state": "dark"}))
            .says("H11", "seen to follow", None),
        t().says_at(20, "H11", "nobody looked at it", None),
    ]
}
