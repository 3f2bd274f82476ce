//! Gas: what was weighed is on the page at once, with its limits, and for nobody of another team.

use super::phone;
use crate::harness::hall::Hall;

#[tokio::test(flavor = "multi_thread")]
async fn a_bottle_weighed_shows_what_it_holds_and_why_not_to_fill_it() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let gas = format!("/e/{}/gas", hall.event);
    ana.open(&gas).await;
    assert!(ana.page().contains("Nobody weighed it"), "{}", ana.page());
    let keypad = format!("/e/{}/bottles/{}/mass", hall.event, hall.own.bottle);
    ana.open(&keypad).await;
    // 1.34 l at 0.667 kg for each litre is 893 g; the tare is 2950 g (industry rule of thumb).
    assert!(ana.page().contains("3843 g gross"), "{}", ana.page());
    assert!(ana.page().contains("The test pressure is not known."));
    let filled = ana.form("/mass").with("mass", "3900").with("did", "filled");
    // More than it should hold is recorded like anything else.
    ana.press_form(&filled).await;
    ana.open(&keypad).await;
    assert!(ana.page().contains("57 g above the stop"), "{}", ana.page());
    ana.open(&gas).await;
    assert!(ana.page().contains("950 g"), "{}", ana.page());
    assert!(ana.page().contains("Advice: do not fill"));
    assert!(ana.page().contains("It holds 57 g more than the 893 g"));
    let bottle = format!("{gas}/{}", hall.own.bottle);
    ana.open(&bottle).await;
    assert!(ana.page().contains("When it warms") && ana.page().contains("65 °C"));
    assert!(ana.page().contains("filled, 3900 g"), "{}", ana.page());
    let next_door = format!("{gas}/{}", hall.other.bottle);
    assert_eq!(ana.status(&next_door).await, 404);
    let of_others = format!("{gas}?team={}", hall.other.team);
    assert_eq!(ana.status(&of_others).await, 404);
    let mut ruth = phone::marshal(&hall, "Ruth").await;
    ruth.open(&gas).await;
    assert!(ruth.page().contains("of which team?") && ruth.page().contains("Team 1"));
    assert_eq!(ruth.status(&of_others).await, 200);
}
