//! Spares on a phone: one tap moves a count, a table is entered whole or not at all.

use super::phone;
use crate::harness::hall::Hall;

const TABLE: &str = "label,spares,mass_g,fits\r\nSeal <kit>,2,80,\r\nGearbox,1,2400,\r\n";

#[tokio::test(flavor = "multi_thread")]
async fn a_table_is_entered_whole_and_a_tap_moves_a_count() {
    let hall = Hall::open().await;
    let mut ana = phone::lead(&hall, "Ana").await;
    let spares = format!("/e/{}/spares", hall.event);
    ana.open(&format!("{spares}/csv")).await;
    let wrong = ana
        .form("/spares/csv")
        .with("table", "label,spares\r\nBelt,many\r\n");
    let answer = ana.send(&wrong).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("Line 2, spares") && answer.text.contains("Belt,many"));
    ana.open(&format!("{spares}/csv")).await;
    let form = ana.form("/spares/csv").with("table", TABLE);
    for _ in 0..2 {
        assert_eq!(
            ana.send(&form).await.status,
            303,
            "sent twice, entered once"
        );
    }
    ana.open(&spares).await;
    assert!(ana.page().contains("Seal &lt;kit&gt;") && ana.page().contains("Gearbox"));
    assert!(!ana.page().contains("Belt"));
    let href = ana
        .page()
        .split("href=\"")
        .filter_map(|rest| rest.split_once("\">Gearbox"))
        .map(|(href, _)| href.to_owned())
        .next()
        .unwrap();
    ana.open(&href).await;
    let counted = ana.form(&href).with("word", "counted").with("as", "new");
    let answer = ana.send(&counted.clone().with("units", "several")).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("several"));
    assert_eq!(ana.send(&counted.with("units", "7")).await.status, 303);
    ana.open(&href).await;
    assert!(ana.page().contains("counted: 7 new"));
}
