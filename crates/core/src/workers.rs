//! Threads that share the work, where the machine has room for them.

use std::thread::{Builder, Scope, ScopedJoinHandle};

/// One more thread at work; none where the machine has no room for it, and then its share is left to the others.
pub(crate) fn worker<'scope, F, T>(
    scope: &'scope Scope<'scope, '_>,
    work: F,
) -> Option<ScopedJoinHandle<'scope, T>>
where
    F: FnOnce() -> T + Send + 'scope,
    T: Send + 'scope,
{
    Builder::new().spawn_scoped(scope, work).ok()
}
