//! A phone without script: it opens pages, reads their forms and sends them, and counts taps.

use crate::harness::hall::Hall;
use reqwest::header::{ACCEPT, LOCATION};
use uuid::Uuid;

/// A phone.
pub struct Phone {
    http: reqwest::Client,
    address: String,
    url: String,
    page: String,
    /// Taps so far: a link opened, a choice made, a button pressed.
    pub taps: u32,
}

/// What came back, before any redirect.
pub struct Answer {
    pub status: u16,
    pub text: String,
    location: Option<String>,
}

/// A form as it stands on a page, with what was entered since.
#[derive(Debug, Clone)]
pub struct Form {
    action: String,
    fields: Vec<(String, String)>,
    /// The markup between its tags.
    pub inside: String,
}

impl Form {
    /// The same form with a field entered.
    pub fn with(mut self, name: &str, value: &str) -> Self {
        self.fields.retain(|(known, _)| known != name);
        self.fields.push((name.to_owned(), value.to_owned()));
        self
    }

    /// The same form, sent elsewhere.
    pub fn to(mut self, action: &str) -> Self {
        action.clone_into(&mut self.action);
        self
    }

    /// What a field holds.
    pub fn value(&self, name: &str) -> Option<&str> {
        self.fields
            .iter()
            .find(|(known, _)| known == name)
            .map(|(_, value)| value.as_str())
    }
}

impl Phone {
    /// A phone of somebody who has not joined.
    pub fn new(hall: &Hall) -> Self {
        Self {
            http: reqwest::Client::builder()
                .cookie_store(true)
                .redirect(reqwest::redirect::Policy::none())
                .build()
                .unwrap(),
            address: hall.service.address.clone(),
            url: String::new(),
            page: String::new(),
            taps: 0,
        }
    }

    /// Opens a page, wherever that leads.
    pub async fn open(&mut self, path: &str) {
        let mut path = path.to_owned();
        for _ in 0..6 {
            let answer = self.get(&path).await;
            match answer.location {
                Some(next) => path = next,
                None => {
                    assert_eq!(answer.status, 200, "{path}: {}", answer.text);
                    self.url = path;
                    self.page = answer.text;
                    return;
                }
            }
        }
        panic!("{path} leads nowhere");
    }

    /// The status of a page.
    pub async fn status(&mut self, path: &str) -> u16 {
        self.get(path).await.status
    }

    async fn get(&self, path: &str) -> Answer {
        let asked = self.http.get(format!("{}{path}", self.address));
        read(asked.header(ACCEPT, "text/html").send().await.unwrap()).await
    }

    /// Where it is.
    pub fn path(&self) -> &str {
        &self.url
    }

    /// What it shows.
    pub fn page(&self) -> &str {
        &self.page
    }

    /// The first form that posts to an address holding `action`.
    #[track_caller]
    pub fn form(&self, action: &str) -> Form {
        self.forms()
            .into_iter()
            .find(|form| form.action.contains(action))
            .unwrap_or_else(|| panic!("no form for {action} on {}", self.url))
    }

    /// The same on a page that came back instead.
    #[track_caller]
    pub fn form_in(&self, page: &str, action: &str) -> Form {
        let mut all = forms(page).into_iter();
        all.find(|form| form.action.contains(action)).unwrap()
    }

    /// Every form of the page.
    pub fn forms(&self) -> Vec<Form> {
        forms(&self.page)
    }

    /// Sends a form as it is.
    pub async fn send(&self, form: &Form) -> Answer {
        let sent = self
            .http
            .post(format!("{}{}", self.address, form.action))
            .header(ACCEPT, "text/html")
            .header("sec-fetch-site", "same-origin")
            .form(&form.fields);
        read(sent.send().await.unwrap()).await
    }

    /// Sends a form with a file, as a browser does (RFC 7578).
    pub async fn send_file(&self, form: &Form, name: &str, file: &[u8]) -> Answer {
        let mut body = Vec::new();
        for (field, value) in form.fields.iter().filter(|(field, _)| field != name) {
            let head =
                format!("--edge\r\ncontent-disposition: form-data; name=\"{field}\"\r\n\r\n");
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(value.as_bytes());
            body.extend_from_slice(b"\r\n");
        }
        let head = format!(
            "--edge\r\ncontent-disposition: form-data; name=\"{name}\"; filename=\"a.jpg\"\r\n\
             content-type: image/jpeg\r\n\r\n"
        );
        body.extend_from_slice(head.as_bytes());
        body.extend_from_slice(file);
        body.extend_from_slice(b"\r\n--edge--\r\n");
        let sent = self
            .http
            .post(format!("{}{}", self.address, form.action))
            .header(ACCEPT, "text/html")
            .header("sec-fetch-site", "same-origin")
            .header("content-type", "multipart/form-data; boundary=edge")
            .body(body);
        read(sent.send().await.unwrap()).await
    }

    /// Presses the button of a form and goes where that leads.
    pub async fn press_form(&mut self, form: &Form) {
        self.taps += 1;
        let answer = self.send(form).await;
        assert_eq!(answer.status, 303, "{}: {}", form.action, answer.text);
        let next = answer.location.expect("after a form was taken it leads on");
        self.open(&next).await;
    }

    /// Presses the button of the form that posts to `action`.
    pub async fn tap_form(&mut self, action: &str) {
        let form = self.form(action);
        self.press_form(&form).await;
    }

    /// Fills in the first form that posts, and presses its button.
    pub async fn fill(&mut self, fields: &[(&str, &str)]) {
        let mut form = self.forms().remove(0);
        for (name, value) in fields {
            form = form.with(name, value);
        }
        self.press_form(&form).await;
    }

    /// Fills in the form that asks for `name`, and presses its button.
    pub async fn press(&mut self, name: &str, value: &str) {
        let asks = format!("name=\"{name}\"");
        let form = self
            .forms()
            .into_iter()
            .find(|form| form.inside.contains(&asks))
            .unwrap();
        self.press_form(&form.with(name, value)).await;
    }

    /// Follows a link.
    pub async fn tap_link(&mut self, href: &str) {
        self.taps += 1;
        self.open(href).await;
    }
}

async fn read(answer: reqwest::Response) -> Answer {
    Answer {
        status: answer.status().as_u16(),
        location: answer
            .headers()
            .get(LOCATION)
            .map(|to| to.to_str().unwrap().to_owned()),
        text: answer.text().await.unwrap(),
    }
}

fn forms(page: &str) -> Vec<Form> {
    page.split("<form")
        .skip(1)
        .filter_map(|rest| {
            let (head, rest) = rest.split_once('>')?;
            let inside = rest.split_once("</form>")?.0;
            attribute(head, "method").filter(|method| method == "post")?;
            let fields = inside
                .split("<input")
                .skip(1)
                .filter_map(|rest| {
                    let tag = rest.split_once('>')?.0;
                    let kind = attribute(tag, "type")?;
                    let sent = match kind.as_str() {
                        "radio" | "checkbox" => tag.contains(" checked"),
                        _ => true,
                    };
                    sent.then(|| {
                        Some((
                            attribute(tag, "name")?,
                            attribute(tag, "value").unwrap_or_default(),
                        ))
                    })?
                })
                .collect();
            Some(Form {
                action: attribute(head, "action")?,
                fields,
                inside: inside.to_owned(),
            })
        })
        .collect()
}

/// An attribute of a tag, as the browser reads it.
pub fn attribute(tag: &str, name: &str) -> Option<String> {
    let from = tag.find(&format!(" {name}=\""))? + name.len() + 3;
    let text = tag[from..].split('"').next()?;
    Some(
        text.replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&quot;", "\"")
            .replace("&amp;", "&"),
    )
}

/// Hands lines in for somebody, as a program would.
pub async fn hand_in(hall: &Hall, who: &str, lines: &[serde_json::Value]) {
    hall.who(who)
        .send(
            "POST",
            &hall.path("/lines"),
            &serde_json::json!({"lines": lines}),
        )
        .await
        .expect(201);
}

/// How many facts of a kind the logbook holds.
pub fn lines(hall: &Hall, kind: &str) -> usize {
    let pit = hall
        .service
        .app
        .events
        .opened(hall.event.parse().unwrap())
        .unwrap()
        .pit();
    pit.files
        .values()
        .flat_map(|file| file.values())
        .filter(|entry| entry.first.kind().name() == kind)
        .count()
}

/// A new card, as the organiser makes it.
pub async fn card(hall: &Hall, role: &str, team: Option<Uuid>) -> String {
    hall.who("account")
        .send(
            "POST",
            &hall.path("/join-codes"),
            &serde_json::json!({"role": role, "team": team}),
        )
        .await
        .expect(201)
        .json()["code"]
        .as_str()
        .unwrap()
        .to_owned()
}

async fn joined(hall: &Hall, role: &str, team: Option<Uuid>, name: &str) -> Phone {
    let code = card(hall, role, team).await;
    let mut phone = Phone::new(hall);
    phone.open(&format!("/join/{code}")).await;
    phone.fill(&[]).await;
    phone.press("name", name).await;
    phone.taps = 0;
    phone
}

/// The phone of somebody of the own team's crew.
pub async fn crew(hall: &Hall, name: &str) -> Phone {
    joined(hall, "crew", Some(hall.own.team), name).await
}

/// The phone of a marshal.
pub async fn marshal(hall: &Hall, name: &str) -> Phone {
    joined(hall, "marshal", None, name).await
}

/// The phone of the own team's lead.
pub async fn lead(hall: &Hall, name: &str) -> Phone {
    joined(hall, "lead", Some(hall.own.team), name).await
}

/// The phone of an official.
pub async fn official(hall: &Hall, name: &str) -> Phone {
    joined(hall, "official", None, name).await
}

/// The phone of an organiser.
pub async fn organiser(hall: &Hall, name: &str) -> Phone {
    joined(hall, "organiser", None, name).await
}
