//! The bench in a real browser: live, honest without a server, and an outbox that loses nothing.

use super::phone;
use crate::harness::hall::Hall;
use fantoccini::{Client, ClientBuilder, Locator};
use serde_json::json;
use std::net::{SocketAddr, TcpListener as StdListener};
use std::os::unix::process::CommandExt as _;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::io::copy_bidirectional;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Notify;

/// The driver of a browser; it and everything it started end with this.
pub struct Driver(Child);

impl Drop for Driver {
    fn drop(&mut self) {
        let group = i32::try_from(self.0.id()).unwrap();
        // SAFETY: signals the process group this test started, and no other.
        unsafe { libc::kill(-group, libc::SIGKILL) };
        let _ = self.0.wait();
    }
}

/// Starts a driver with a phone of the usual width; none where the machine has no browser.
pub async fn driver() -> Option<(Driver, Client)> {
    driver_at((390, 844)).await
}

/// The same with another screen: width and height.
pub async fn driver_at((width, height): (u32, u32)) -> Option<(Driver, Client)> {
    let port = StdListener::bind(("127.0.0.1", 0))
        .unwrap()
        .local_addr()
        .unwrap()
        .port();
    let started = Command::new("chromedriver")
        .arg(format!("--port={port}"))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .process_group(0)
        .spawn();
    let Ok(child) = started else {
        eprintln!("no chromedriver here: the pages were not looked at in a browser");
        return None;
    };
    let guard = Driver(child);
    let arguments = [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--window-size=500,844",
    ];
    // A window of a desktop browser is never narrower than this; a phone's screen is.
    let screen = json!({"width": width, "height": height, "pixelRatio": 1.0});
    let mut wanted = serde_json::Map::new();
    wanted.insert(
        "goog:chromeOptions".to_owned(),
        json!({"args": arguments, "mobileEmulation": {"deviceMetrics": screen}}),
    );
    let address = format!("http://127.0.0.1:{port}");
    for _ in 0..600 {
        let mut builder = ClientBuilder::rustls().unwrap();
        builder.capabilities(wanted.clone());
        if let Ok(client) = builder.connect(&address).await {
            return Some((guard, client));
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    panic!("the browser's driver does not answer");
}

/// The way between a phone and the service, which can be cut.
struct Wire {
    address: SocketAddr,
    up: Arc<AtomicBool>,
    cut: Arc<Notify>,
}

impl Wire {
    async fn to(service: &str) -> Self {
        let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
        let wire = Self {
            address: listener.local_addr().unwrap(),
            up: Arc::new(AtomicBool::new(true)),
            cut: Arc::new(Notify::new()),
        };
        let (up, cut) = (wire.up.clone(), wire.cut.clone());
        let service = service.trim_start_matches("http://").to_owned();
        tokio::spawn(async move {
            while let Ok((mut phone, _)) = listener.accept().await {
                if !up.load(Ordering::SeqCst) {
                    continue;
                }
                let (service, cut) = (service.clone(), cut.clone());
                tokio::spawn(async move {
                    let Ok(mut there) = TcpStream::connect(service).await else {
                        return;
                    };
                    tokio::select! {
                        _ = copy_bidirectional(&mut phone, &mut there) => {}
                        () = cut.notified() => {}
                    }
                });
            }
        });
        wire
    }

    fn cut(&self) {
        self.up.store(false, Ordering::SeqCst);
        self.cut.notify_waiters();
    }

    fn mend(&self) {
        self.up.store(true, Ordering::SeqCst);
    }
}

/// Waits until a script says `true`.
pub async fn until(browser: &Client, what: &str, script: &str) {
    let script = format!("return Boolean({script})");
    for _ in 0..600 {
        if browser
            .execute(&script, vec![])
            .await
            .is_ok_and(|found| found == json!(true))
        {
            return;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    let text = browser
        .execute("return document.body.innerText", vec![])
        .await;
    panic!("waiting until {what}; the page says: {text:?}");
}

pub async fn tap(browser: &Client, selector: &str) {
    let found = browser.wait().for_element(Locator::Css(selector)).await;
    let found = found.unwrap_or_else(|error| panic!("{selector}: {error}"));
    // As a thumb does: what is under the foot of the page is scrolled up first.
    let script =
        format!("document.querySelector({selector:?}).scrollIntoView({{block: 'center'}})");
    browser.execute(&script, vec![]).await.unwrap();
    found
        .click()
        .await
        .unwrap_or_else(|error| panic!("{selector}: {error}"));
}

const VERDICT: &str = "document.querySelector('#vh')?.textContent.trim()";

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_without_a_server_claims_nothing_and_loses_nothing() {
    let Some((_guard, browser)) = driver().await else {
        return;
    };
    let hall = Hall::open().await;
    let wire = Wire::to(&hall.service.address).await;
    let base = format!("http://{}", wire.address);
    let code = phone::card(&hall, "crew", Some(hall.own.team)).await;
    browser.goto(&format!("{base}/join/{code}")).await.unwrap();
    tap(&browser, "form button").await;
    let name = browser
        .wait()
        .for_element(Locator::Id("name"))
        .await
        .unwrap();
    name.send_keys("Ana").await.unwrap();
    tap(&browser, "form.stackform button").await;
    until(
        &browser,
        "the bench is there",
        &format!("{VERDICT} === 'Unproved'"),
    )
    .await;

    let subject = format!("robot:{}", hall.own.robot);
    let line = hall.line(
        "place",
        &subject,
        Some("did"),
        &json!({"place": "pit_bench"}),
    );
    phone::hand_in(&hall, "crew", &[line]).await;

    // She looks at every source.
    tap(&browser, ".verdict a.btn").await;
    for (source, found) in [
        ("link", "out"),
        ("system", "zero"),
        ("valve", "shut"),
        ("weapon_bar", "on"),
        ("transmitter", "off"),
        ("holder", "box"),
    ] {
        tap(&browser, &format!("input[name={source}][value={found}]")).await;
    }
    tap(&browser, ".sheetfoot button.big").await;
    until(
        &browser,
        "the look shows",
        &format!("{VERDICT} === 'Made safe'"),
    )
    .await;
    assert_eq!(phone::lines(&hall, "looked"), 1);

    // What others enter shows by itself.
    let seen = |state: &str| {
        hall.line(
            "transmitter",
            &subject,
            Some("saw"),
            &json!({"state": state}),
        )
    };
    phone::hand_in(&hall, "marshal", &[seen("on")]).await;
    until(
        &browser,
        "the marshal's sight shows",
        &format!("{VERDICT} !== 'Made safe'"),
    )
    .await;
    hall.service.clock.advance(chrono::TimeDelta::minutes(3));
    phone::hand_in(&hall, "marshal", &[seen("off")]).await;
    let calm = format!("{VERDICT} === 'Made safe' && !document.querySelector('.banner.stop')");
    until(&browser, "it is made safe again", &calm).await;
    until(
        &browser,
        "pages are kept",
        "navigator.serviceWorker?.controller",
    )
    .await;
    browser.refresh().await.unwrap();
    until(&browser, "it is there again", &calm).await;
    until(
        &browser,
        "the link plan is kept though nobody opened it",
        "(caches.match(document.querySelector('a[href$=\"/plan\"]').href)
            .then((kept) => { window.planKept = Boolean(kept); }), window.planKept)",
    )
    .await;

    // The hall's network goes: nothing claims that the machine is made safe.
    wire.cut();
    until(
        &browser,
        "it says so",
        &format!("!document.querySelector('#link-state').hidden && {VERDICT} === 'Unproved'"),
    )
    .await;
    tap(&browser, "form.asserts button").await;
    until(
        &browser,
        "the entry waits",
        "document.querySelector('#outbox').innerText.includes('Not sent yet: 1')",
    )
    .await;
    browser.refresh().await.unwrap();
    until(
        &browser,
        "it still waits after a reload",
        "document.querySelector('#outbox')?.innerText.includes('Not sent yet: 1')",
    )
    .await;
    until(
        &browser,
        "the kept page claims nothing",
        &format!("{VERDICT} === 'Unproved'"),
    )
    .await;
    assert_eq!(phone::lines(&hall, "looked"), 1);

    // The emergency panel opens without a network, says first what to do, and claims no help.
    tap(&browser, "a.emergency").await;
    until(
        &browser,
        "it says what to do",
        "document.querySelector('#emergency').checkVisibility()
            && document.querySelector('#emergency').innerText.startsWith('Shout. Get away.')",
    )
    .await;
    tap(&browser, "#emergency form button").await;
    until(
        &browser,
        "the word to the marshals waits",
        "document.querySelector('#outbox').innerText.includes('Not sent yet: 2')",
    )
    .await;
    let claim = "return document.querySelector('[data-part=emergency-answer]').innerText";
    let claim = browser.execute(claim, vec![]).await.unwrap();
    assert_eq!(
        claim,
        "Nobody is said to be coming until somebody answers here."
    );
    assert_eq!(phone::lines(&hall, "danger"), 0);

    // It comes back: each entry is sent, once.
    wire.mend();
    until(
        &browser,
        "nothing waits",
        "document.querySelector('#outbox')?.hidden",
    )
    .await;
    assert_eq!(phone::lines(&hall, "looked"), 2);
    assert_eq!(phone::lines(&hall, "danger"), 1);
    until(
        &browser,
        "it says so no more",
        "document.querySelector('#link-state').hidden",
    )
    .await;
    browser.close().await.unwrap();
}

/// The wall hangs for days: the hall's network comes and goes, the service is away, and nobody is
/// there to load it again.
#[tokio::test(flavor = "multi_thread")]
async fn the_wall_goes_on_by_itself_whenever_the_network_comes_back() {
    let Some((_guard, browser)) = driver().await else {
        return;
    };
    let hall = Hall::open().await;
    let wire = Wire::to(&hall.service.address).await;
    let base = format!("http://{}", wire.address);
    let code = phone::card(&hall, "wall", None).await;
    browser.goto(&format!("{base}/join/{code}")).await.unwrap();
    tap(&browser, "form button").await;
    until(
        &browser,
        "the wall is there",
        "document.querySelector('[data-part=wall]')",
    )
    .await;
    browser
        .execute("window.sinceLoaded = true", vec![])
        .await
        .unwrap();
    let late = |minutes: i32| {
        format!("document.querySelector('.late').innerText.includes('+{minutes} min')")
    };
    for (round, minutes) in [5, 10, 15].into_iter().enumerate() {
        wire.cut();
        let moved = hall.line("calls_moved", "event", None, &json!({"by_min": minutes}));
        phone::hand_in(&hall, "account", &[moved]).await;
        wire.mend();
        until(&browser, &format!("round {round} shows"), &late(minutes)).await;
        hall.service.clock.advance(chrono::TimeDelta::minutes(1));
    }
    let kept = browser
        .execute("return window.sinceLoaded === true", vec![])
        .await;
    assert_eq!(kept.unwrap(), json!(true), "it was never loaded again");
    browser.close().await.unwrap();
}
