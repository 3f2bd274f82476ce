//! A client as anybody could write one.

use reqwest::header::{HeaderMap, HeaderName, HeaderValue};
use reqwest::{Method, StatusCode};
use serde_json::Value;

/// Somebody who asks.
#[derive(Clone)]
pub struct Client {
    http: reqwest::Client,
    address: String,
    token: Option<String>,
}

/// What came back.
#[derive(Debug)]
pub struct Answer {
    /// The status.
    pub status: StatusCode,
    /// The headers.
    pub headers: HeaderMap,
    /// The body.
    pub text: String,
}

impl Answer {
    /// The body as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text)
            .unwrap_or_else(|cause| panic!("{cause} in {}: {}", self.status, self.text))
    }

    /// A header, empty if it is missing.
    pub fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .map_or("", |value| value.to_str().unwrap())
    }

    /// Demands a status.
    #[track_caller]
    pub fn expect(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "{}", self.text);
        self
    }

    /// Demands a problem of a kind, with the form that RFC 9457 gives it.
    #[track_caller]
    pub fn problem(self, slug: &str) -> Value {
        assert_eq!(
            self.header("content-type"),
            "application/problem+json",
            "{} {}",
            self.status,
            self.text
        );
        let problem = self.json();
        assert_eq!(problem["type"], format!("/problems/{slug}"), "{problem}");
        assert_eq!(problem["status"], self.status.as_u16());
        let id = self.header("x-request-id");
        assert_eq!(problem["instance"], format!("/requests/{id}"));
        problem
    }
}

impl Client {
    /// A client of the service at `address`.
    pub fn new(address: String, token: Option<String>) -> Self {
        let http = reqwest::Client::builder()
            .redirect(reqwest::redirect::Policy::none())
            .build()
            .unwrap();
        Self {
            http,
            address,
            token,
        }
    }

    /// The token it shows.
    pub fn token(&self) -> Option<String> {
        self.token.clone()
    }

    /// A request that can still be changed.
    pub fn request(&self, method: &str, path: &str) -> reqwest::RequestBuilder {
        let method = Method::from_bytes(method.as_bytes()).unwrap();
        let request = self.http.request(method, format!("{}{path}", self.address));
        match &self.token {
            Some(token) => request.bearer_auth(token),
            None => request,
        }
    }

    /// Asks.
    pub async fn ask(&self, method: &str, path: &str) -> Answer {
        answer(self.request(method, path)).await
    }

    /// Reads.
    pub async fn get(&self, path: &str) -> Answer {
        self.ask("GET", path).await
    }

    /// Sends JSON.
    pub async fn send(&self, method: &str, path: &str, body: &Value) -> Answer {
        answer(self.request(method, path).json(body)).await
    }

    /// Sends JSON with one more header.
    pub async fn send_if(
        &self,
        method: &str,
        path: &str,
        header: (&str, &str),
        body: &Value,
    ) -> Answer {
        let name = HeaderName::from_bytes(header.0.as_bytes()).unwrap();
        let value = HeaderValue::from_str(header.1).unwrap();
        answer(self.request(method, path).header(name, value).json(body)).await
    }
}

/// Sends a request and reads the whole answer.
pub async fn answer(request: reqwest::RequestBuilder) -> Answer {
    let response = request.send().await.unwrap();
    Answer {
        status: response.status(),
        headers: response.headers().clone(),
        text: response.text().await.unwrap(),
    }
}
