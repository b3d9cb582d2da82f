//! Changes, told to pages as they come (server-sent events).

use std::convert::Infallible;
use std::time::Duration;

use axum::response::IntoResponse;
use axum::response::sse::{Event, Sse};
use futures_util::stream;
use tokio::sync::watch;
use tokio::time;

pub(in crate::cli) use super::connections::Deadline;

/// A listening page hears something this often, so that one that has gone is noticed.
const SIGN_OF_LIFE: Duration = Duration::from_secs(15);

/// A page that listens longer is asked to connect again; one that no longer takes anything, such as
/// a browser that was stopped, loses its place.
const LONGEST: Duration = Duration::from_secs(600);

/// How long a page waits before it connects again.
const RETRY: Duration = Duration::from_secs(1);

/// The answer that tells `data` of what `changes` holds now, and again whenever it has changed, until
/// the page goes away.
pub(in crate::cli) fn tell<T: Send + Sync + 'static>(
    mut changes: watch::Receiver<T>,
    deadline: &Deadline,
    data: fn(&T) -> serde_json::Value,
) -> impl IntoResponse + use<T> {
    deadline.extend(LONGEST);
    changes.mark_changed();
    Sse::new(stream::unfold(changes, move |mut changes| async move {
        let event = match time::timeout(SIGN_OF_LIFE, changes.changed()).await {
            Ok(Ok(())) => {
                let data = data(&changes.borrow_and_update());
                Event::default().retry(RETRY).data(data.to_string())
            }
            Ok(Err(_)) => return None,
            Err(_) => Event::default().comment(""),
        };
        Some((Ok::<_, Infallible>(event), changes))
    }))
}
