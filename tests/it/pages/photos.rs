//! Photographs: recorded once with their picture, seen by the team and the officials, by nobody else.

use super::phone;
use crate::harness::client::answer;
use crate::harness::hall::Hall;
use serde_json::json;
use uuid::Uuid;

/// A picture of eight dots by four.
fn picture(shade: u8) -> Vec<u8> {
    let mut file = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(8, 4, image::Rgb([shade, 90, 20]))
        .write_to(&mut file, image::ImageFormat::Png)
        .unwrap();
    file.into_inner()
}

#[tokio::test(flavor = "multi_thread")]
async fn damage_is_photographed_once_and_shown() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let damage = format!("/e/{}/robots/{}/damage", hall.event, hall.own.robot);
    ana.open(&damage).await;
    let photos = format!("/e/{}/photos/robot:{}", hall.event, hall.own.robot);
    assert!(ana.page().contains(&photos));
    ana.open(&photos).await;
    assert!(ana.page().contains("No photographs yet"));
    let form = ana.form("/photos/").with("note", "hinge <bent>");
    // Sent twice, as from a phone that did not hear the answer.
    for _ in 0..2 {
        let sent = ana.send_file(&form, "photo", &picture(1)).await;
        assert_eq!(sent.status, 303, "{}", sent.text);
    }
    assert_eq!(phone::lines(&hall, "photo"), 1);
    ana.open(&photos).await;
    assert!(ana.page().contains("hinge &lt;bent&gt;"), "{}", ana.page());
    let shown = hall.path(&format!("/photos/{}", form.value("key").unwrap()));
    assert!(ana.page().contains(&format!("src=\"{shown}\"")));
    assert_eq!(ana.status(&shown).await, 200);
    let refused = ana.send_file(&ana.form("/photos/"), "photo", b"%PDF").await;
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("no picture"), "{}", refused.text);
    assert_eq!(phone::lines(&hall, "photo"), 1, "no line without a picture");
    let huge = vec![0; 12 * 1024 * 1024 + 128 * 1024];
    let refused = ana.send_file(&ana.form("/photos/"), "photo", &huge).await;
    assert_eq!(refused.status, 413, "{}", refused.text);
    let mut ruth = phone::marshal(&hall, "Ruth").await;
    assert_eq!(ruth.status(&shown).await, 200);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_picture_goes_to_its_line_and_stays() {
    let hall = Hall::open().await;
    let line = Uuid::now_v7();
    let path = hall.path(&format!("/photos/{line}"));
    let client = |who: &str| hall.who(who).clone();
    let send = |who: &str, file: Vec<u8>| {
        let request = client(who).request("PUT", &path);
        answer(request.header("content-type", "image/png").body(file))
    };
    send("crew", picture(1))
        .await
        .expect(404)
        .problem("unknown");
    let body = json!({"id": line, "kind": "photo", "at": "2027-01-15T09:00:00Z",
        "subject": format!("bottle:{}", hall.own.bottle), "body": {"shows": "bottle_stamp"}});
    let hand_in = async |body: &serde_json::Value| {
        let lines = json!({"lines": [body]});
        client("crew")
            .send("POST", &hall.path("/lines"), &lines)
            .await
    };
    let mut of_a_robot = body.clone();
    of_a_robot["body"]["shows"] = json!("damage");
    let refused = hand_in(&of_a_robot).await.expect(422).problem("refused");
    assert_eq!(refused["errors"][0]["pointer"], "/lines/0/body/shows");
    hand_in(&body).await.expect(201);
    // The line stands; its picture is on the way.
    hall.who("crew").get(&path).await.expect(404);
    send("other crew", picture(1)).await.expect(404);
    send("official", picture(1))
        .await
        .expect(403)
        .problem("not-allowed");
    let refused = send("crew", b"GIF89a".to_vec()).await.expect(422);
    assert_eq!(refused.problem("refused")["errors"][0]["pointer"], "");
    send("crew", vec![0; 12 * 1024 * 1024 + 1])
        .await
        .expect(413)
        .problem("too-large");
    send("crew", picture(1)).await.expect(204);
    send("crew", picture(1)).await.expect(204);
    send("crew", picture(200))
        .await
        .expect(409)
        .problem("conflict");
    for (who, status) in [
        ("crew", 200),
        ("official", 200),
        ("other crew", 404),
        ("wall", 404),
    ] {
        hall.who(who).get(&path).await.expect(status);
    }
}
