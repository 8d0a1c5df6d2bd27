package ws

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/gorilla/websocket"
	"golang.org/x/sync/errgroup"

	"readback/capture/wall"
	"readback/capture/wire"
)

// Wall serves GET /ws/wall: what a wall shows, all of it and then what changes. A wall says
// nothing; what it sends is not read but for its goodbye.
func (h *Handler) Wall(hub *wall.Hub) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { h.wall(hub, w, r) })
}

func (h *Handler) wall(hub *wall.Hub, w http.ResponseWriter, r *http.Request) {
	if offered := websocket.Subprotocols(r); len(offered) > 0 && !slices.Contains(offered, wire.Protocol) {
		h.problem(w, http.StatusBadRequest, wire.Problem{Error: "the websocket offers no protocol that is spoken here", Do: "offer " + wire.Protocol})
		return
	}
	if !h.enter() {
		h.problem(w, http.StatusServiceUnavailable, wire.Problem{Error: "too many benches are connected", Do: "try again in a while"})
		return
	}
	defer h.leave()
	conn, err := h.upgrader.Upgrade(w, r, nil)
	if err != nil {
		return // the upgrader has answered
	}
	h.log.Info().Msg("wall came")
	err = (&client{limits: h.limits, log: h.log, conn: conn}).serveWall(r.Context(), hub)
	h.log.Info().AnErr("why", err).Msg("wall left")
}

// serveWall works until the wall leaves, does not read, or ctx ends, and says which.
func (c *client) serveWall(ctx context.Context, hub *wall.Hub) error {
	defer c.conn.Close()
	c.conn.SetReadLimit(wire.MaxFrame)
	c.conn.SetPongHandler(func(string) error { return c.extend() })
	g, ctx := errgroup.WithContext(ctx)
	forget := context.AfterFunc(ctx, c.stop)
	defer forget()
	g.Go(func() error {
		for {
			err := c.extend()
			if err == nil {
				_, _, err = c.conn.NextReader()
			}
			if err != nil {
				return fmt.Errorf("read: %w", err)
			}
		}
	})
	g.Go(func() error {
		err := c.sendWall(ctx, hub)
		c.goodbye(errors.Join(context.Cause(ctx), err))
		return err
	})
	return g.Wait()
}

// sendWall sends what the wall is to show.
func (c *client) sendWall(ctx context.Context, hub *wall.Hub) error {
	w, err := hub.Watch(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	for pinged := time.Now(); ; {
		m, err := w.Next(ctx)
		if err != nil {
			return err
		}
		text, err := m.MarshalJSON()
		if err == nil {
			err = c.put(text)
		}
		if err == nil && time.Since(pinged) > c.limits.pingEvery {
			pinged = time.Now()
			err = c.conn.WriteControl(websocket.PingMessage, nil, time.Now().Add(c.limits.writeWithin))
		}
		if err != nil {
			return fmt.Errorf("write: %w", err)
		}
	}
}
