//! Ctrl-C and the request to terminate, as something that can be waited for.

/// Resolves once this process is asked to end: by Ctrl-C, or by SIGTERM where there is one.
pub(crate) async fn asked() {
    let ctrl_c = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = ctrl_c => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    let _ = ctrl_c.await;
}

/// Calls `then` on another thread each time this process is asked to end, which therefore no
/// longer ends by itself. Returns once that holds.
pub(crate) fn on_each(mut then: impl FnMut() + Send + 'static) {
    let (ready, is_ready) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let Ok(runtime) = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
        else {
            return;
        };
        runtime.block_on(async {
            loop {
                // Polled once, the handlers are in place.
                let mut waiting = std::pin::pin!(asked());
                tokio::select! {
                    biased;
                    () = &mut waiting => { then(); continue; }
                    () = std::future::ready(()) => { let _ = ready.send(()); }
                }
                waiting.await;
                then();
            }
        });
    });
    let _ = is_ready.recv();
}
