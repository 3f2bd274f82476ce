//! The team page: who cannot be at both, and one tap that settles it.

use super::phone;
use crate::harness::hall::Hall;
use serde_json::json;
use uuid::Uuid;

#[tokio::test(flavor = "multi_thread")]
async fn a_driver_needed_at_both_is_named_and_one_tap_settles_it() {
    let hall = Hall::open().await;
    let (team, ana) = (hall.own.team, hall.own.person);
    let id = |n: u128| Uuid::from_u128(0x0197_a3c2_0000_7000_8000_0000_0000_0200 + n);
    let robot = |name: &str| json!({"team": team, "name": name, "machine": "spinner_heavyweight", "links": 1, "driver": ana});
    let bout = |n, one, at| json!({"number": n, "slots": [{"robot": one}, {"robot": hall.other.robot}], "call_at": at});
    let lines = [
        hall.line(
            "register_person",
            &format!("person:{}", id(1)),
            None,
            &json!({"team": team, "skills": ["driver"]}),
        ),
        hall.line(
            "register_robot",
            &format!("robot:{}", id(2)),
            None,
            &robot("Tin Rook"),
        ),
        hall.line(
            "register_robot",
            &format!("robot:{}", id(3)),
            None,
            &robot("Zinc Newt"),
        ),
        hall.line(
            "register_bout",
            &format!("bout:{}", id(4)),
            None,
            &bout(7, id(2), "2027-01-15T14:08:00Z"),
        ),
        hall.line(
            "register_bout",
            &format!("bout:{}", id(5)),
            None,
            &bout(8, id(3), "2027-01-15T14:10:00Z"),
        ),
    ];
    phone::hand_in(&hall, "account", &lines).await;
    for (person, name) in [(ana, "Ana"), (id(1), "Dee")] {
        let path = hall.path(&format!("/people/{person}/name"));
        hall.who("account")
            .send("PUT", &path, &json!({"name": name}))
            .await
            .expect(204);
    }
    let mut lead = phone::lead(&hall, "Kit").await;
    lead.open(&format!("/e/{}/team", hall.event)).await;
    assert!(lead.page().contains("Ana is needed at both, 14:10"));
    assert!(lead.page().contains("Ask Dee to drive"));
    assert!(lead.page().contains("channel left"));
    lead.tap_form("/duty").await;
    assert!(
        !lead.page().contains("is needed at both"),
        "settled by one tap"
    );
}
