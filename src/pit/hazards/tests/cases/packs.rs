//! Cases of packs and charging.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let t = Told::flipper;
    let set = |value: Value| {
        let mut with = json!({"set": SET});
        with.as_object_mut()
            .unwrap()
            .extend(value.as_object().unwrap().clone());
        with
    };
    let swollen = || {
        t().did(
            20,
            "pack",
            set(json!({"place": "bench", "looks": "swollen"})),
        )
    };
    let aside = || swollen().did(30, "pack", set(json!({"place": "quarantine"})));
    let hot_aside = || {
        t().did(20, "pack", set(json!({"place": "bench", "looks": "hot"})))
            .did(30, "pack", set(json!({"place": "quarantine"})))
    };
    let over = 30 + 30 * MIN;
    let clears = |told: Told, at, who| {
        told.tell(
            at,
            who,
            How::Saw,
            "hazard",
            json!({"rule": "H17", "said": "cleared"}),
        )
    };
    let charge = |value: Value| {
        t().did(20, "charge", set(json!({"state": "started"})))
            .did(21, "charge", set(value))
    };
    let back = |told: Told| {
        let at_s = told.last + 30;
        told.tell(
            at_s,
            BEN,
            How::Did,
            "charge",
            set(json!({"read_back_by": BEN})),
        )
    };
    let interrupted =
        || back(charge(json!({}))).did(60, "charge", set(json!({"state": "interrupted"})));
    let cells = |first: i32, second: i32| {
        let cells: Vec<i32> = std::iter::repeat_n(first, 6)
            .chain(std::iter::repeat_n(second, 6))
            .collect();
        set(json!({"cells_mv": cells}))
    };
    let fitted = |first, second| {
        t().did(20, "pack", cells(first, second))
            .did(30, "pack", set(json!({"place": "machine"})))
    };
    vec![
        swollen().says("H17", "swollen on the bench", STOP),
        t().did(20, "pack", set(json!({"place": "bench", "looks": "hit"})))
            .says("H17", "hit, on the bench", HOLD),
        t().did(20, "pack", set(json!({"place": "bench", "looks": "fine"})))
            .says("H17", "sound", None),
        t().did(20, "pack", set(json!({"place": "bench", "looks": "hit"})))
            .did(30, "pack", set(json!({"place": "charging_table"})))
            .says("H17", "hit, on the charging table", STOP),
        t().did(10, "pack", set(json!({"place": "machine"})))
            .tell(
                20,
                BEN,
                How::Did,
                "damage",
                json!({"area": "packs", "kind": "pack_hit"}),
            )
            .says("H17", "hit, in the machine", STOP),
        aside().says("H17", "set aside", NOTE),
        aside().says_at(600 * MIN, "H17", "time clears nothing", NOTE),
        clears(hot_aside(), over, BEN).says("H17", "one clears it", NOTE),
        clears(clears(hot_aside(), over, BEN), over + 1, BEN).says("H17", "one, twice", NOTE),
        clears(clears(hot_aside(), over, BEN), over + 1, CAL).says("H17", "two clear it", None),
        clears(clears(aside(), over, BEN), over + 1, CAL).says("H17", "swollen is for good", NOTE),
        clears(clears(hot_aside(), over - 2, BEN), over - 1, CAL).says_at(
            over,
            "H17",
            "two clear it too early",
            NOTE,
        ),
        aside()
            .did(60, "pack", set(json!({"place": "bench", "looks": "fine"})))
            .says("H17", "fetched back early", STOP),
        swollen()
            .did(30, "pack", set(json!({"place": "returned"})))
            .says("H17", "scrapped", None),
        charge(json!({})).says("H18", "nobody named", HOLD),
        charge(json!({})).says_at(20 + 5 * MIN, "H18", "for five minutes", STOP),
        charge(json!({"watcher": BEN})).says("H18", "watched", None),
        charge(json!({}))
            .takes(60, BEN, "pack_watcher")
            .says("H18", "a watcher by duty", None),
        charge(json!({}))
            .did(600, "charge", set(json!({"state": "ended"})))
            .says("H18", "over", None),
        charge(json!({"watcher": BEN}))
            .ben_away()
            .says("H18", "the watcher is away", HOLD),
        charge(json!({"watcher": BEN}))
            .with_settings(json!({"charges_per_watcher": 0}))
            .says("H18", "one more than a watcher may watch", HOLD),
        charge(json!({"watcher": BEN}))
            .with_settings(json!({"charges_per_watcher": 0}))
            .says_at(20 + 5 * MIN, "H18", "one too many for five minutes", STOP),
        charge(json!({"watcher": BEN}))
            .with_settings(json!({"charges_per_watcher": 1}))
            .says("H18", "two packs of one set are one charge", None),
        charge(json!({"watcher": BEN}))
            .with_settings(json!({"charges_per_watcher": 0}))
            .did(600, "charge", set(json!({"state": "ended"})))
            .says("H18", "one too many, and over", None),
        charge(json!({"watcher": BEN}))
            .with_settings(json!({"charges_per_watcher": 0, "charging_watch": "staff"}))
            .says("H18", "a staffed table counts its own", None),
        t().with_settings(json!({"charging_watch": "staff"}))
            .did(20, "charge", set(json!({"state": "started"})))
            .says("H18", "a staffed table", None),
        charge(json!({"cells": 5})).says("H19", "five cells for six", STOP),
        back(charge(
            json!({"cells": 6, "chemistry": "lipo", "current_ma": 10_000}),
        ))
        .says("H19", "set and read back", None),
        back(charge(json!({"cells": 12}))).says("H19", "both in series", None),
        back(charge(json!({"chemistry": "lfp"}))).says("H19", "another chemistry", STOP),
        back(charge(json!({"current_ma": 10_001}))).says("H19", "more than the pack takes", STOP),
        charge(json!({"read_back_by": ANA})).says("H19", "read back by the same person", WARN),
        charge(json!({"read_back_by": BEN})).says("H19", "somebody named", NOTE),
        interrupted().says("H19", "the mains failed", STOP),
        interrupted()
            .did(90, "charge", set(json!({"read_back_by": ANA})))
            .says("H19", "read back by whoever started it", STOP),
        back(interrupted()).says("H19", "read back by another", None),
        t().did(10, "pack", set(json!({"place": "machine"})))
            .did(
                20,
                "charge",
                set(json!({"state": "started", "read_back_by": BEN})),
            )
            .says("H19", "in the machine", STOP),
        fitted(4_151, 4_100).says("H20", "51 mV apart", HOLD),
        fitted(4_150, 4_100).says("H20", "50 mV apart", None),
        t().did(20, "pack", cells(4_200, 4_000))
            .says("H20", "apart on the bench", None),
        t().did(
            20,
            "pack",
            set(json!({"place": "machine", "matched": false})),
        )
        .says("H20", "said not to match", HOLD),
        t().did(20, "pack", cells(4_200, 4_000))
            .did(25, "charge", set(json!({"state": "started"})))
            .did(28, "charge", set(json!({"state": "ended"})))
            .did(
                30,
                "pack",
                set(json!({"place": "machine", "matched": true})),
            )
            .says("H20", "charged since", None),
        fitted(4_200, 4_000)
            .did(40, "pack", cells(4_100, 4_100))
            .says("H20", "measured again", None),
        fitted(4_090, 4_050)
            .with_settings(json!({"pack_difference_mv": 30}))
            .says("H20", "a narrower limit", HOLD),
    ]
}
