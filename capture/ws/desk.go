package ws

import (
	"context"

	"readback/capture/wire"
)

// opened answers what was said at the desk. An error is that of the journal: the answer tells of it
// in words, the log with its reason.
func (c *client) opened(ctx context.Context, out wire.Opening, err error) error {
	switch {
	case err != nil:
		c.log.Warn().Err(err).Msg("job not opened")
	case out.Go != "" && out.Spec != "":
		c.log.Info().Str("job", out.Go).Str("spec", out.Spec).Msg("job opened by word of mouth")
	}
	return c.sendMessage(ctx, out)
}
