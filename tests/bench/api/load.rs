//! Asking as fast as it is answered: HTTP/1.1 over kept connections, and nothing more than that, so
//! that the asking costs next to nothing.

use super::hall::Hall;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;

/// A request that was answered once.
pub struct Asked {
    pub address: String,
    pub request: Vec<u8>,
    pub status: u16,
    pub etag: String,
    /// How long the body of its answer is.
    pub bytes: usize,
}

/// The mean of some values.
pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// A GET.
pub fn request(path: &str, token: &str, headers: &[(&str, &str)]) -> Vec<u8> {
    let mut text =
        format!("GET {path} HTTP/1.1\r\nHost: hall\r\nAuthorization: Bearer {token}\r\n");
    for (name, value) in headers {
        text += &format!("{name}: {value}\r\n");
    }
    (text + "\r\n").into_bytes()
}

/// Asks once.
pub async fn ask(address: &str, path: &str, token: &str, headers: &[(&str, &str)]) -> Asked {
    let request = request(path, token, headers);
    let mut line = Line::to(address).await;
    let (head, bytes) = line.ask(&request).await;
    let head = head.to_owned();
    let etag = head.lines().find_map(|line| line.strip_prefix("etag: "));
    Asked {
        address: address.to_owned(),
        request,
        status: head[9..12].parse().expect("a status"),
        etag: etag.unwrap_or_default().to_owned(),
        bytes,
    }
}

/// A connection.
struct Line {
    socket: TcpStream,
    heard: Vec<u8>,
}

impl Line {
    async fn to(address: &str) -> Self {
        let socket = TcpStream::connect(address.trim_start_matches("http://"));
        let socket = socket.await.expect("a connection");
        socket.set_nodelay(true).expect("a socket");
        Self {
            socket,
            heard: Vec::with_capacity(1 << 17),
        }
    }

    /// Sends a request and hears its answer: the head, and how long the body was.
    async fn ask(&mut self, request: &[u8]) -> (&str, usize) {
        self.socket.write_all(request).await.expect("sent");
        self.heard.clear();
        let head = loop {
            let from = self.heard.len().saturating_sub(3);
            let read = self.socket.read_buf(&mut self.heard).await.expect("heard");
            assert!(read > 0, "hung up");
            let ends = self.heard[from..]
                .windows(4)
                .position(|four| four == b"\r\n\r\n");
            if let Some(at) = ends {
                break from + at + 4;
            }
        };
        let length = length(&self.heard[..head]);
        while self.heard.len() < head + length {
            let read = self.socket.read_buf(&mut self.heard).await.expect("heard");
            assert!(read > 0, "hung up");
        }
        let head = std::str::from_utf8(&self.heard[..head]).expect("a head");
        (head, length)
    }
}

/// How long the body is, by the head; nothing of a 304 follows.
fn length(head: &[u8]) -> usize {
    const NAME: &[u8] = b"content-length: ";
    if head.starts_with(b"HTTP/1.1 304") {
        return 0;
    }
    let at = head.windows(NAME.len()).position(|name| name == NAME);
    let digits = &head[at.expect("a length") + NAME.len()..];
    let digits = digits.iter().take_while(|byte| byte.is_ascii_digit());
    digits.fold(0, |length, digit| length * 10 + usize::from(digit - b'0'))
}

/// Answers a second to one request from so many connections.
pub async fn rate(address: &str, request: &[u8], connections: usize, spell: Duration) -> f64 {
    let count = Arc::new(AtomicUsize::new(0));
    let mut lines = Vec::new();
    for _ in 0..connections {
        lines.push(Line::to(address).await);
    }
    let began = Instant::now();
    let asking: Vec<_> = lines
        .into_iter()
        .map(|mut line| {
            let (request, count) = (request.to_vec(), count.clone());
            tokio::spawn(async move {
                while began.elapsed() < spell {
                    line.ask(&request).await;
                    count.fetch_add(1, Ordering::Relaxed);
                }
            })
        })
        .collect();
    for one in asking {
        one.await.expect("asked");
    }
    count.load(Ordering::Relaxed) as f64 / began.elapsed().as_secs_f64()
}

/// How lines went in.
pub struct Posted {
    pub per_s: f64,
    pub p50_ms: f64,
}

/// Hands lines in from so many phones, one at a time each.
pub async fn posts(hall: &Hall, phones: usize, spell: Duration) -> Posted {
    let mut lines = Vec::new();
    for _ in 0..phones {
        lines.push(Line::to(&hall.service.address()).await);
    }
    let began = Instant::now();
    let posting: Vec<_> = lines
        .into_iter()
        .map(|mut line| {
            let pen = hall.pen();
            tokio::spawn(async move {
                let mut took = Vec::new();
                while began.elapsed() < spell {
                    let request = pen.line();
                    let sent = Instant::now();
                    let (head, _) = line.ask(&request).await;
                    assert!(head.starts_with("HTTP/1.1 201"), "{head}");
                    took.push(sent.elapsed());
                }
                took
            })
        })
        .collect();
    let mut took = Vec::new();
    for one in posting {
        took.extend(one.await.expect("posted"));
    }
    let per_s = took.len() as f64 / began.elapsed().as_secs_f64();
    took.sort_unstable();
    Posted {
        per_s,
        p50_ms: took[took.len() / 2].as_secs_f64() * 1e3,
    }
}
