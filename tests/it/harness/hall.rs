//! An event with two teams, one of everything for each, and somebody in every role; and another
//! event next door.

use super::app::TestApp;
use super::client::Client;
use chrono::SubsecRound as _;
use linkout::app::Clock as _;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Everybody there is in these tests.
pub const EVERYBODY: [&str; 12] = [
    "nobody",
    "crew",
    "other crew",
    "lead",
    "other lead",
    "official",
    "marshal",
    "organiser",
    "wall",
    "program",
    "account",
    "next door",
];

/// Things of a team.
#[derive(Debug, Clone, Copy)]
pub struct Own {
    pub team: Uuid,
    pub person: Uuid,
    pub robot: Uuid,
    pub pack: Uuid,
    pub set: Uuid,
    pub channel: Uuid,
    pub bottle: Uuid,
    pub charger: Uuid,
    pub circuit: Uuid,
    pub supply: Uuid,
    pub part_type: Uuid,
}

impl Own {
    fn numbered(n: u128) -> Self {
        let id = |k: u128| Uuid::from_u128(0x0197_a3c2_0000_7000_8000_0000_0000_0000 + n * 16 + k);
        Self {
            team: id(1),
            person: id(2),
            robot: id(3),
            pack: id(4),
            set: id(5),
            channel: id(6),
            bottle: id(7),
            charger: id(8),
            circuit: id(9),
            supply: id(10),
            part_type: id(11),
        }
    }
}

/// The event.
pub struct Hall {
    pub service: TestApp,
    pub event: String,
    pub own: Own,
    pub other: Own,
    pub bout: Uuid,
    clients: BTreeMap<&'static str, Client>,
    next_line: std::sync::atomic::AtomicU32,
}

impl Hall {
    /// Opens the doors.
    pub async fn open() -> Self {
        let service = TestApp::start().await;
        let app = &service.app;
        let (login, password) = ("wren", "seven copper kettles");
        linkout::app::accounts::add_organiser(
            &app.pool,
            &*app.ids,
            login,
            password,
            app.clock.now(),
        )
        .await
        .unwrap();
        let signed = service
            .nobody()
            .send(
                "POST",
                "/api/v1/sessions",
                &json!({"login": login, "password": password}),
            )
            .await
            .expect(201);
        let account = service.with_token(signed.json()["token"].as_str().unwrap().to_owned());
        let event = create(&account, "Autumn Meet").await;
        let next_door = create(&account, "Spring Meet").await;
        let mut hall = Self {
            service,
            event,
            own: Own::numbered(1),
            other: Own::numbered(2),
            bout: Uuid::from_u128(0x0197_a3c2_0000_7000_8000_0000_0000_0100),
            clients: BTreeMap::new(),
            next_line: 0.into(),
        };
        hall.clients.insert("nobody", hall.service.nobody());
        hall.clients.insert("account", account);
        hall.register().await;
        let (own, other) = (Some(hall.own.team), Some(hall.other.team));
        for (who, role, team) in [
            ("crew", "crew", own),
            ("other crew", "crew", other),
            ("lead", "lead", own),
            ("other lead", "lead", other),
            ("official", "official", None),
            ("marshal", "marshal", None),
            ("organiser", "organiser", None),
            ("wall", "wall", None),
            ("program", "program", None),
        ] {
            let client = hall.join(&hall.event, role, team, who).await;
            hall.clients.insert(who, client);
        }
        let client = hall.join(&next_door, "organiser", None, "next door").await;
        hall.clients.insert("next door", client);
        hall
    }

    /// Somebody of [`EVERYBODY`].
    pub fn who(&self, who: &str) -> &Client {
        &self.clients[who]
    }

    /// An address under the event.
    pub fn path(&self, rest: &str) -> String {
        format!("/api/v1/events/{}{rest}", self.event)
    }

    /// Whatever lines can be about here.
    pub fn subjects(&self) -> Vec<String> {
        let mut subjects = vec!["event".to_owned(), format!("bout:{}", self.bout)];
        for own in [self.own, self.other] {
            for (noun, id) in [
                ("team", own.team),
                ("person", own.person),
                ("robot", own.robot),
                ("pack", own.pack),
                ("set", own.set),
                ("channel", own.channel),
                ("bottle", own.bottle),
                ("charger", own.charger),
                ("circuit", own.circuit),
                ("supply", own.supply),
                ("part", own.part_type),
            ] {
                subjects.push(format!("{noun}:{id}"));
            }
        }
        subjects
    }

    /// Lets somebody new in.
    pub async fn join(&self, event: &str, role: &str, team: Option<Uuid>, name: &str) -> Client {
        let code = self
            .who("account")
            .send(
                "POST",
                &format!("/api/v1/events/{event}/join-codes"),
                &json!({"role": role, "team": team}),
            )
            .await
            .expect(201);
        let joined = self
            .service
            .nobody()
            .send(
                "POST",
                "/api/v1/sessions/join",
                &json!({"code": code.json()["code"], "name": name}),
            )
            .await
            .expect(201);
        let token = joined.json()["token"].as_str().unwrap().to_owned();
        self.service.with_token(token)
    }

    /// A line that nobody handed in yet, seen now.
    pub fn line(&self, kind: &str, subject: &str, how: Option<&str>, body: &Value) -> Value {
        let n = self
            .next_line
            .fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        let id = Uuid::from_u128(0x0197_a3c2_0001_7000_8000_0000_0000_0000 + u128::from(n));
        let mut line = json!({
            "id": id, "kind": kind, "subject": subject, "body": body,
            "at": self.service.clock.now().trunc_subsecs(3),
        });
        if let Some(how) = how {
            line["how"] = json!(how);
        }
        line
    }

    /// A line about the own robot's link.
    pub fn link_out(&self) -> Value {
        let subject = format!("robot:{}", self.own.robot);
        self.line("link", &subject, Some("did"), &json!({"state": "out"}))
    }

    async fn register(&self) {
        let mut lines = Vec::new();
        for (n, own) in [(1, self.own), (2, self.other)] {
            let mut add = |noun: &str, id: Uuid, body: Value| {
                let kind = match noun {
                    "part" => "register_part_type".to_owned(),
                    _ => format!("register_{noun}"),
                };
                lines.push(self.line(&kind, &format!("{noun}:{id}"), None, &body));
            };
            let team = own.team;
            add("team", team, json!({"name": format!("Team {n}")}));
            add("person", own.person, json!({"team": team}));
            add(
                "robot",
                own.robot,
                json!({"team": team, "name": format!("Robot {n}"),
                "machine": "flipper_heavyweight", "links": 1, "bench": n}),
            );
            add(
                "pack",
                own.pack,
                json!({"team": team, "label": "A1", "chemistry": "lipo",
                "cells": 6, "capacity_mah": 5000}),
            );
            add(
                "set",
                own.set,
                json!({"team": team, "label": "A", "packs": [own.pack]}),
            );
            add(
                "channel",
                own.channel,
                json!({"team": team, "label": "left",
                "max_current_ma": 10_000, "max_power_w": 300}),
            );
            add(
                "bottle",
                own.bottle,
                json!({"team": team, "label": "B1", "gas": "co2",
                "volume_ml": 1340, "tare_g": 2950}),
            );
            add(
                "circuit",
                own.circuit,
                json!({"team": team, "label": "lead", "kind": "lead", "rating_ma": 13_000}),
            );
            add(
                "charger",
                own.charger,
                json!({"team": team, "label": "green one", "circuit": own.circuit}),
            );
            add(
                "supply",
                own.supply,
                json!({"team": team, "label": "cylinder", "gas": "co2", "volume_ml": 50_000}),
            );
            add(
                "part",
                own.part_type,
                json!({"team": team, "label": "wheel", "fits": [{"robot": own.robot, "units": 4}]}),
            );
        }
        let body = json!({"number": 1, "call_at": "2027-01-15T11:00:00Z",
            "slots": [{"robot": self.own.robot}, {"robot": self.other.robot}]});
        lines.push(self.line("register_bout", &format!("bout:{}", self.bout), None, &body));
        self.who("account")
            .send("POST", &self.path("/lines"), &json!({"lines": lines}))
            .await
            .expect(201);
    }
}

async fn create(account: &Client, name: &str) -> String {
    let body = json!({"name": name, "time_zone": "Europe/London",
        "first_day": "2027-01-15", "last_day": "2027-01-16"});
    let event = account
        .send("POST", "/api/v1/events", &body)
        .await
        .expect(201);
    let id = event.json()["id"].as_str().unwrap().to_owned();
    assert_eq!(event.header("location"), format!("/api/v1/events/{id}"));
    id
}
