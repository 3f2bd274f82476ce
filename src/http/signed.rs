//! Who asks: the session behind a request, from its token in a header or a cookie.

use super::{Problem, edge::Moment};
use crate::app::{App, AppError, Event, Signed};
use crate::pit::ids::EventId;
use crate::pit::state::Pit;
use actix_web::{
    FromRequest, HttpRequest,
    cookie::{Cookie, SameSite, time::Duration},
    dev::Payload,
    http::header,
    web,
};
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use futures_util::future::LocalBoxFuture;
use std::sync::Arc;

/// The name of the cookie that holds a phone's token.
pub const COOKIE: &str = "linkout";

impl FromRequest for Signed {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let request = request.clone();
        Box::pin(async move { who(&request).await })
    }
}

/// Somebody at the event that the address names, what is known of it, and now.
pub struct Here {
    /// What use cases stand on.
    pub app: web::Data<App>,
    /// Who asks.
    pub signed: Signed,
    /// The event.
    pub event: Arc<Event>,
    /// What is known at this moment.
    pub pit: Arc<Pit>,
    /// The time.
    pub now: DateTime<Utc>,
}

impl Here {
    /// The day in the hall.
    pub fn today(&self) -> NaiveDate {
        let event = self.pit.event.as_ref();
        let zone = event.and_then(|event| event.body.time_zone.parse::<Tz>().ok());
        self.now
            .with_timezone(&zone.unwrap_or(Tz::UTC))
            .date_naive()
    }
}

impl FromRequest for Here {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let request = request.clone();
        Box::pin(async move {
            let signed = who(&request).await?;
            let event: EventId = request
                .match_info()
                .get("event")
                .and_then(|text| text.parse().ok())
                .ok_or(AppError::Unknown)?;
            signed.at(event)?;
            let app = app(&request)?;
            let event = app.events.open(event).await?;
            Ok(Self {
                app,
                signed,
                pit: event.pit(),
                event,
                now: Moment::of(&request)?.now,
            })
        })
    }
}

fn app(request: &HttpRequest) -> Result<web::Data<App>, Problem> {
    request
        .app_data::<web::Data<App>>()
        .cloned()
        .ok_or_else(|| AppError::bug("the service is not set up").into())
}

async fn who(request: &HttpRequest) -> Result<Signed, Problem> {
    let now = Moment::of(request)?.now;
    let token = token(request).ok_or(AppError::Unauthenticated)?;
    let looking = app(request)?;
    Ok(looking.sessions.signed(&token, now).await?)
}

/// The token of a request: the header counts before the cookie.
fn token(request: &HttpRequest) -> Option<String> {
    match request.headers().get(header::AUTHORIZATION) {
        Some(header) => {
            let (scheme, token) = header.to_str().ok()?.split_once(' ')?;
            scheme
                .eq_ignore_ascii_case("bearer")
                .then(|| token.trim().to_owned())
        }
        None => request
            .cookie(COOKIE)
            .map(|cookie| cookie.value().to_owned()),
    }
}

/// The cookie that keeps a phone signed in until `until`. Scripts cannot read it; another site's
/// posts do not carry it.
pub fn cookie(
    request: &HttpRequest,
    token: String,
    now: DateTime<Utc>,
    until: DateTime<Utc>,
) -> Cookie<'static> {
    let secure = request.connection_info().scheme() == "https";
    Cookie::build(COOKIE, token)
        .path("/")
        .http_only(true)
        .secure(secure)
        .same_site(SameSite::Lax)
        .max_age(Duration::seconds((until - now).num_seconds()))
        .finish()
}

/// The cookie that signs a phone out.
pub fn no_cookie() -> Cookie<'static> {
    let mut gone = Cookie::build(COOKIE, "").path("/").finish();
    gone.make_removal();
    gone
}
