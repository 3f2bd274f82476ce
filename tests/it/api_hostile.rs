//! Whatever is sent, the answer is a problem that says what is wrong, and never a fault of linkout.

use crate::harness::client::answer;
use crate::harness::hall::Hall;
use serde_json::{Value, json};

fn pointers(problem: &Value) -> Vec<&str> {
    problem["errors"]
        .as_array()
        .map(|errors| {
            errors
                .iter()
                .map(|error| error["pointer"].as_str().unwrap())
                .collect()
        })
        .unwrap_or_default()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_read_is_said_with_its_place() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let path = hall.path("/lines");
    for (body, kind, slug) in [
        ("{", "application/json", "malformed"),
        ("", "application/json", "malformed"),
        ("\u{feff}{}", "application/json", "malformed"),
        ("[]", "application/json", "refused"),
        ("7", "application/json", "refused"),
        ("{}", "text/plain", "wrong-form"),
        ("lines=1", "application/x-www-form-urlencoded", "wrong-form"),
    ] {
        let request = crew.request("POST", &path).header("content-type", kind);
        answer(request.body(body)).await.problem(slug);
    }
    let request = crew
        .request("POST", &path)
        .header("content-type", "application/json");
    answer(request.body(vec![0xff, 0xfe]))
        .await
        .problem("malformed");
    answer(crew.request("POST", &path).body("{}"))
        .await
        .problem("wrong-form");
    let deep = "[".repeat(200_000);
    let request = crew
        .request("POST", &path)
        .header("content-type", "application/json");
    answer(request.body(deep)).await.problem("malformed");
}

#[tokio::test(flavor = "multi_thread")]
async fn every_fault_of_every_line_is_named_at_once() {
    let hall = Hall::open().await;
    let mut strange = hall.link_out();
    strange["bodie"] = strange["body"].take();
    strange.as_object_mut().unwrap().remove("body");
    let mut wrong = hall.link_out();
    wrong["body"] = json!({"state": "inn", "lihgt": "dark"});
    wrong["how"] = json!("heard");
    let subject = format!("robot:{}", hall.own.robot);
    let range = hall.line("bottle", &subject, Some("saw"), &json!({"mass_g": 500_001}));
    let kind = hall.line("lnik", &subject, Some("saw"), &json!({}));
    let report = json!({"lines": [strange, wrong, range, kind]});
    let problem = hall
        .who("crew")
        .send("POST", &hall.path("/lines"), &report)
        .await
        .expect(422)
        .problem("refused");
    let found = pointers(&problem);
    for pointer in [
        "/lines/0/bodie",
        "/lines/0/body",
        "/lines/1/body/state",
        "/lines/1/body/lihgt",
        "/lines/1/how",
        "/lines/2/body/mass_g",
        "/lines/3/kind",
    ] {
        assert!(found.contains(&pointer), "{pointer} in {problem:#}");
    }
    let all = problem.to_string();
    for near in [
        "nearest is 'body'",
        "nearest is 'light'",
        "nearest is 'link'",
    ] {
        assert!(all.contains(near), "{near} in {problem:#}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn text_that_cannot_be_kept_is_refused() {
    let hall = Hall::open().await;
    let subject = format!("robot:{}", hall.own.robot);
    let crew = hall.who("crew");
    for body in [
        json!({"what": "fire", "note": "a\u{0}b"}),
        json!({"what": "fire", "note": "a\u{7}b"}),
        json!({"what": "fire", "note": " "}),
        json!({"what": "fire", "note": "x".repeat(501)}),
        json!({"what": "fire\u{0}"}),
        json!({"what": "fire", "no\u{0}te": 1}),
    ] {
        let line = hall.line("danger", &subject, None, &body);
        crew.send("POST", &hall.path("/lines"), &json!({"lines": [line]}))
            .await
            .expect(422)
            .problem("refused");
    }
    let line = hall.line(
        "danger",
        &subject,
        None,
        &json!({"what": "fire", "note": "’;DROP TABLE lines;-- \u{202e}🔥"}),
    );
    crew.send("POST", &hall.path("/lines"), &json!({"lines": [line]}))
        .await
        .expect(201);
}

#[tokio::test(flavor = "multi_thread")]
async fn times_that_no_event_has_are_refused_and_a_wrong_clock_is_not() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    for at in [
        "-200000-01-01T00:00:00Z",
        "+262000-01-01T00:00:00Z",
        "0001-01-01T00:00:00Z",
    ] {
        let mut line = hall.link_out();
        line["at"] = json!(at);
        let problem = crew
            .send("POST", &hall.path("/lines"), &json!({"lines": [line]}))
            .await
            .expect(422)
            .problem("refused");
        assert_eq!(pointers(&problem), ["/lines/0/at"]);
    }
    // Nine hours off: recorded, as safety does not wait for a clock.
    let mut line = hall.link_out();
    line["at"] = json!("2027-01-16T03:00:00Z");
    crew.send("POST", &hall.path("/lines"), &json!({"lines": [line]}))
        .await
        .expect(201);
    let lines = crew
        .get(&hall.path("/lines?kind=link"))
        .await
        .expect(200)
        .json();
    assert_eq!(lines["items"][0]["clock_doubtful"], true, "{lines:#}");
}

#[tokio::test(flavor = "multi_thread")]
async fn too_much_at_once_is_refused() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let many: Vec<Value> = (0..101).map(|_| hall.link_out()).collect();
    crew.send("POST", &hall.path("/lines"), &json!({"lines": many}))
        .await
        .expect(422)
        .problem("refused");
    crew.send("POST", &hall.path("/lines"), &json!({"lines": []}))
        .await
        .expect(422)
        .problem("refused");
    let large = format!("{{\"lines\":[]}}{}", " ".repeat(1 << 20));
    let request = crew
        .request("POST", &hall.path("/lines"))
        .header("content-type", "application/json");
    answer(request.body(large))
        .await
        .expect(413)
        .problem("too-large");
}

#[tokio::test(flavor = "multi_thread")]
async fn unknown_things_and_ids_are_not_there() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    for path in [
        "/robots/0197a3c2-0000-7000-8000-00000000dead".to_owned(),
        "/robots/one".to_owned(),
        "/robots/%00".to_owned(),
        "/robots/..%2f..%2fetc".to_owned(),
        format!("/bottles/{}", hall.other.bottle),
        "/nothing".to_owned(),
    ] {
        crew.get(&hall.path(&path))
            .await
            .expect(404)
            .problem("unknown");
    }
    crew.get("/api/v1/events/0197a3c2-0000-7000-8000-00000000dead")
        .await
        .expect(404)
        .problem("unknown");
    let line = hall.line(
        "link",
        "robot:0197a3c2-0000-7000-8000-00000000dead",
        Some("did"),
        &json!({"state": "out"}),
    );
    let problem = hall
        .who("marshal")
        .send("POST", &hall.path("/lines"), &json!({"lines": [line]}))
        .await
        .expect(422)
        .problem("refused");
    assert_eq!(pointers(&problem), ["/lines/0/subject"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn methods_that_are_not_there_are_told_which_are() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let lines = hall.path("/lines");
    for method in ["PUT", "DELETE", "PATCH", "TRACE", "BREW"] {
        let refused = crew.ask(method, &lines).await.expect(405);
        assert_eq!(
            refused.header("allow"),
            "GET, HEAD, OPTIONS, POST",
            "{method}"
        );
        refused.problem("wrong-method");
    }
    let options = crew.ask("OPTIONS", &lines).await.expect(204);
    assert_eq!(options.header("allow"), "GET, HEAD, OPTIONS, POST");
    crew.ask("OPTIONS", "/nothing").await.expect(404);
    let get = crew.get(&lines).await.expect(200);
    let head = crew.ask("HEAD", &lines).await.expect(200);
    assert_eq!(head.text, "");
    assert_eq!(head.header("content-length"), get.text.len().to_string());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_query_that_nobody_knows_is_refused() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    for query in [
        "limit=0",
        "limit=101",
        "limit=x",
        "limit=-1",
        "lmit=5",
        "after=-1",
        "cursor=!!",
        "cursor=eHh4",
        "kind=lnik",
        "subject=ship:1",
        "subject=%00",
        "limit=99999999999999999999",
    ] {
        crew.get(&hall.path(&format!("/lines?{query}")))
            .await
            .expect(400)
            .problem("malformed");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_post_from_another_site_is_refused() {
    let hall = Hall::open().await;
    let body = json!({"code": "00000-00000"});
    let path = "/api/v1/join-codes/look";
    let nobody = hall.service.nobody();
    let host = hall.service.address.strip_prefix("http://").unwrap();
    for (header, value, status) in [
        ("sec-fetch-site", "cross-site", 403),
        ("sec-fetch-site", "same-site", 403),
        ("sec-fetch-site", "same-origin", 401),
        ("origin", "https://elsewhere.example", 403),
        ("origin", "null", 403),
        ("origin", &format!("http://{host}"), 401),
        ("cookie", "linkout=x", 403),
    ] {
        let refused = nobody.send_if("POST", path, (header, value), &body).await;
        assert_eq!(refused.status.as_u16(), status, "{header}: {value}");
    }
}
