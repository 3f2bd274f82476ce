//! The service as people run it: the program itself, in a process of its own.

use std::io::Write;
use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use reqwest::{Client, Response, StatusCode};
use serde_json::{Value, json};

/// The login of the organiser every test service has.
const LOGIN: &str = "desk";
/// Their password.
const PASSWORD: &str = "seven copper kettles";

/// A service in a data folder; it is killed when this value goes.
pub struct Service {
    process: Child,
    data: PathBuf,
    port: u16,
    client: Client,
}

impl Service {
    /// Adds the organiser to a data folder that is not in use.
    pub fn add_organiser(data: &Path) {
        Self::add_organiser_with(linkout(data));
    }

    /// Adds the organiser to a database somebody else runs.
    pub fn add_organiser_to(data: &Path, database: &str) {
        let mut program = linkout(data);
        program.env("DATABASE_URL", database);
        Self::add_organiser_with(program);
    }

    fn add_organiser_with(mut program: Command) {
        let mut adding = program
            .args(["organiser", "add", "--login", LOGIN])
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let mut input = adding.stdin.take().unwrap();
        input.write_all(PASSWORD.as_bytes()).unwrap();
        drop(input);
        assert!(adding.wait().unwrap().success());
    }

    /// Starts the service of a data folder; it may not answer yet.
    pub fn start(data: &Path) -> Self {
        Self::start_with(linkout(data), data)
    }

    /// Starts one of several services on a database somebody else runs, with one key.
    pub fn start_on(data: &Path, database: &str, key: &str) -> Self {
        let mut program = linkout(data);
        program
            .env("DATABASE_URL", database)
            .env("LINKOUT_TOKEN_KEY", key);
        Self::start_with(program, data)
    }

    fn start_with(mut program: Command, data: &Path) -> Self {
        // Taken and given back: nobody else is likely to take it in between.
        let free = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let port = free.local_addr().unwrap().port();
        drop(free);
        let process = program
            .args(["serve", "--listen", "127.0.0.1", "--connections", "3"])
            .args(["--port", &port.to_string()])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        Self {
            process,
            data: data.to_path_buf(),
            port,
            client: Client::new(),
        }
    }

    /// Signs the organiser in, waiting for a service that is just starting, and returns the token.
    pub async fn sign_in(&self) -> String {
        let form = json!({"login": LOGIN, "password": PASSWORD});
        let begun = Instant::now();
        loop {
            let asked = self.client.post(self.url("/api/v1/sessions")).json(&form);
            match asked.send().await {
                Ok(answer) if answer.status() == StatusCode::CREATED => {
                    let opened: Value = answer.json().await.unwrap();
                    return opened["token"].as_str().unwrap().to_owned();
                }
                Ok(answer) => panic!("{}", answer.text().await.unwrap()),
                Err(cause) => assert!(begun.elapsed() < Duration::from_secs(60), "{cause}"),
            }
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    }

    /// Posts a document; an error if the service is not there to answer.
    pub async fn post(
        &self,
        token: &str,
        path: &str,
        document: &Value,
    ) -> reqwest::Result<Response> {
        let request = self.client.post(self.url(path)).bearer_auth(token);
        request.json(document).send().await
    }

    /// Asks without a body, waiting for a service that is just starting, and returns the status.
    pub async fn ask(&self, method: reqwest::Method, token: &str, path: &str) -> StatusCode {
        let begun = Instant::now();
        loop {
            let request = self.client.request(method.clone(), self.url(path));
            match request.bearer_auth(token).send().await {
                Ok(answer) => return answer.status(),
                Err(cause) => assert!(begun.elapsed() < Duration::from_secs(60), "{cause}"),
            }
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    }

    /// Where it is.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    /// Its process number.
    pub fn pid(&self) -> u32 {
        self.process.id()
    }

    /// The number of the database server it has started, if there is one.
    pub fn database_pid(&self) -> Option<u32> {
        let file = self.data.join("postgres/data/postmaster.pid");
        let text = std::fs::read_to_string(file).ok()?;
        text.lines().next()?.parse().ok()
    }

    /// Kills it, without a word.
    pub fn kill(mut self) {
        self.end();
    }

    fn end(&mut self) {
        // Sending a signal to a process that has ended already is refused, and just as good.
        let _ = self.process.kill();
        self.process.wait().unwrap();
    }

    fn url(&self, path: &str) -> String {
        format!("{}{path}", self.address())
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        self.end();
    }
}

fn linkout(data: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_linkout"));
    command
        .env_remove("DATABASE_URL")
        .env("LINKOUT_DATA", data)
        .stderr(Stdio::null());
    command
}
