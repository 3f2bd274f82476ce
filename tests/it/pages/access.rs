//! Every page that a link leads to, for every role, on the narrowest phone: nothing runs out of the
//! screen, and axe (rules of WCAG 2.2 A and AA) finds nothing.

use super::browser::{driver_at, tap, until};
use crate::harness::app::TestApp;
use fantoccini::{Client, Locator};
use linkout::app::Clock as _;
use linkout::app::demo::play::{Demo, FastClock};
use serde_json::Value;
use std::collections::{BTreeSet, VecDeque};

/// **Source** axe-core 4.14.1 from the npm registry, `tests/data/axe/`.
const AXE: &str = include_str!("../../data/axe/axe.min.js");

/// The narrowest phone there is, and high enough that nothing lies under the foot of the page.
const SCREEN: (u32, u32) = (320, 9_000);

/// What axe finds, in words, and how far the page runs out of the screen.
const LOOK: &str = r"
    const done = arguments[arguments.length - 1];
    const wide = document.documentElement.scrollWidth - window.innerWidth;
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
    axe.run(document, {runOnly: tags, resultTypes: ['violations']}).then(
        found => done({wide, found: found.violations.flatMap(rule =>
            rule.nodes.map(node => `${rule.id}: ${node.target.join(' ')}: ${node.failureSummary}`))}),
        error => done({wide, found: [String(error)]}));
";

const LINKS: &str = "return [...document.querySelectorAll('a[href]')].map(link => link.href)";

/// The address with every id taken out: pages that differ in an id only are one page, and so are
/// the tasks of a library.
fn shape(path: &str) -> String {
    let path = path.split(['?', '#']).next().unwrap_or_default();
    let task = path.contains("/library/");
    let parts = path.split('/').enumerate().map(|(n, part)| {
        let id = uuid::Uuid::parse_str(part).is_ok();
        if id || task && n > OF_LIBRARY {
            "*"
        } else {
            part
        }
    });
    parts.collect::<Vec<_>>().join("/")
}

/// Parts of an address up to the name of a library: `/e/*/register/library/*`.
const OF_LIBRARY: usize = 5;

/// Whether a link leads to a page of the event: not to data, pictures or the way out.
fn is_page(path: &str, event: &str) -> bool {
    let data = [".csv", ".ics", ".svg", ".json"];
    path.starts_with(&format!("/e/{event}")) && !data.iter().any(|end| path.contains(end))
}

async fn look(browser: &Client, path: &str, found: &mut Vec<String>) {
    browser.execute(AXE, vec![]).await.unwrap();
    let seen = browser.execute_async(LOOK, vec![]).await.unwrap();
    if seen["wide"].as_i64().unwrap_or_default() > 0 {
        found.push(format!("{path}: {} px too wide", seen["wide"]));
    }
    for text in seen["found"].as_array().into_iter().flatten() {
        found.push(format!("{path}: {}", text.as_str().unwrap_or_default()));
    }
}

/// Joins by a card and takes the first name that is offered, or types one.
async fn join(browser: &Client, address: &str, code: &str) {
    let card = format!("{address}/join/{code}");
    browser.goto(&card).await.unwrap();
    tap(browser, "form button").await;
    let there = "document.querySelector('#name') || !/^.join|.me$/.test(location.pathname)";
    until(browser, "a name is asked, or none is", there).await;
    if let Ok(name) = browser.find(Locator::Id("name")).await {
        name.send_keys("Robin").await.unwrap();
        tap(browser, "form.stackform button").await;
        until(browser, "they are in", "!/.me$/.test(location.pathname)").await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_can_be_used_by_everybody_on_a_narrow_phone() {
    let Some((_guard, browser)) = driver_at(SCREEN).await else {
        return;
    };
    let service = TestApp::start().await;
    let address = service.address.clone();
    // The demo is in the middle of its day: something of everything stands somewhere.
    let clock = FastClock::new(service.clock.now(), 1.0);
    let demo = Demo::open(&service.app, &clock).await.unwrap();
    let event = demo.event.id().to_string();
    let (mut seen, mut found) = (BTreeSet::new(), Vec::new());
    for path in ["/join", "/sign-in"] {
        browser.goto(&format!("{address}{path}")).await.unwrap();
        look(&browser, path, &mut found).await;
    }
    for (role, code) in &demo.doors {
        join(&browser, &address, code).await;
        let mut ahead = VecDeque::from([format!("/e/{event}")]);
        let mut of_role = BTreeSet::new();
        while let Some(path) = ahead.pop_front() {
            browser.goto(&format!("{address}{path}")).await.unwrap();
            look(&browser, &format!("{role} {path}"), &mut found).await;
            let links = browser.execute(LINKS, vec![]).await.unwrap();
            let links = links.as_array().cloned().unwrap_or_default();
            for link in links.iter().filter_map(Value::as_str) {
                let Some(path) = link.strip_prefix(&address) else {
                    continue;
                };
                // What somebody else has looked at already is the same page for this one.
                let new = is_page(path, &event) && !seen.contains(&shape(path));
                if new && of_role.insert(shape(path)) {
                    ahead.push_back(path.to_owned());
                }
            }
        }
        println!("{role}: {} pages", of_role.len());
        seen.extend(of_role);
    }
    println!("{} pages looked at", seen.len());
    assert!(seen.len() > 30, "{seen:#?}");
    assert!(found.is_empty(), "{} findings: {found:#?}", found.len());
}
