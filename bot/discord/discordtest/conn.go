package discordtest

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"encoding/json"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// conn is one gateway connection. What goes out is queued, so that the world never waits for a socket; one
// goroutine writes, the handler's own reads.
type conn struct {
	w        *World
	ws       *websocket.Conn
	session  *session // nil until identified
	span     int      // of its session, a place in Gateway.live counted from 1; 0 until identified
	compress bool
	silent   bool        // takes and gives nothing more, but stays open
	sent     []time.Time // of the client's payloads, for the gateway's own rate limit

	mu     sync.Mutex
	queue  []frame
	wake   chan struct{}
	closed chan struct{}
	once   sync.Once
}

// frame is something to do to a connection: say data, close with a code, or cut it, after half of data if
// there is any.
type frame struct {
	data    []byte
	code    int
	cut     bool
	deflate bool
}

func newConn(w *World, ws *websocket.Conn) *conn {
	return &conn{w: w, ws: ws, wake: make(chan struct{}, 1), closed: make(chan struct{})}
}

// push is called with the world held, as all that changes a connection; only the queue is shared with write.
func (c *conn) push(f frame) {
	f.deflate = c.compress && len(f.data) > 1024 // "not all payloads will be compressed" (Gateway, Payload Compression)
	c.mu.Lock()
	c.queue = append(c.queue, f)
	c.mu.Unlock()
	select {
	case c.wake <- struct{}{}:
	default:
	}
}

// say queues a payload unless the connection has gone silent.
func (c *conn) say(payload obj) {
	if !c.silent {
		c.push(frame{data: encode(payload)})
	}
}

// finish closes the connection with a gateway close code once everything before it is out.
func (c *conn) finish(code int) { c.push(frame{code: code}) }

func (c *conn) shut() {
	c.once.Do(func() {
		close(c.closed)
		_ = c.ws.Close()
	})
}

// write sends what is queued until the connection is shut.
func (c *conn) write() {
	defer c.shut()
	for {
		c.mu.Lock()
		batch := c.queue
		c.queue = nil
		c.mu.Unlock()
		for _, f := range batch {
			if !c.do(f) {
				return
			}
		}
		select {
		case <-c.wake:
		case <-c.closed:
			return
		}
	}
}

// do carries out one frame and says whether the connection goes on.
func (c *conn) do(f frame) bool {
	switch {
	case f.cut && f.data != nil:
		_, _ = c.ws.NetConn().Write(half(f.data))
		return false
	case f.cut:
		return false
	case f.code != 0:
		_ = c.ws.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(f.code, closeReasons[f.code]), time.Now().Add(time.Second))
		return false
	}
	c.w.writes(f.data)
	if f.deflate {
		return c.ws.WriteMessage(websocket.BinaryMessage, deflate(f.data)) == nil
	}
	return c.ws.WriteMessage(websocket.TextMessage, f.data) == nil
}

// half is the head of a text frame (RFC 6455, section 5.2) that promises all of data, and half of it.
func half(data []byte) []byte {
	head := binary.BigEndian.AppendUint64([]byte{0x81, 127}, uint64(len(data)))
	return append(head, data[:len(data)/2]...)
}

func deflate(data []byte) []byte {
	var b bytes.Buffer
	z := zlib.NewWriter(&b)
	_, _ = z.Write(data)
	_ = z.Close()
	return b.Bytes()
}

func encode(payload any) []byte {
	data, err := json.Marshal(payload)
	if err != nil {
		panic("discordtest: " + err.Error())
	}
	return data
}
