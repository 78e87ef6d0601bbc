package discordtest

// Forget lets the stand-in keep only the last messages of each channel, at most so many, and nothing else of
// what it served: for long runs that measure the memory of the bot alone. Requests, Violations of lost windows,
// RESUME and a repeated nonce see little of the past then.
func (w *World) Forget(keep int) {
	w.change(func() {
		w.keep = keep
		for _, c := range w.channels {
			w.trim(c, keep)
		}
	})
}

func (w *World) trim(c *Channel, over int) {
	if len(c.messages) > over {
		c.messages = append([]*message(nil), c.messages[len(c.messages)-w.keep:]...)
	}
}

// mostNonces is how many nonces are remembered while the rest is forgotten.
const mostNonces = 100

// forget lets go of what is not kept. It is called after each request, and with the world held.
func (w *World) forget(c *Channel) {
	if w.keep == 0 {
		return
	}
	if c != nil {
		w.trim(c, 2*w.keep) // not one by one
	}
	if len(w.nonces) > mostNonces {
		clear(w.nonces)
	}
	clear(w.limits.buckets)
	w.requests = nil
	for _, s := range w.gateway.sessions {
		s.log = nil
	}
}

// forgetInteraction lets go of one that has its answer.
func (w *World) forgetInteraction(i *Interaction) {
	if w.keep > 0 {
		delete(w.interactions, i.Token)
		i.source = nil // else each message would hold the one before
	}
}

// CloseIdle closes the connections for requests that nobody uses now, so that goroutines can be counted.
func (w *World) CloseIdle() { w.client.CloseIdleConnections() }
